// Package target holds clips of test targets at known distances against each other.
//
// A rig that converges at a distance shows what stands there without parallax, and everything
// else with a parallax that is linear in the nearness, the inverse of the distance. So the
// targets of one setup lie on a straight line. Its fit tells where the cameras converge, and
// by how much each target departs from the line that the others make.
package target
