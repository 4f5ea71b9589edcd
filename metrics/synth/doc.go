// Package synth draws stereo pairs whose truth is known. Tests, benchmarks, fuzz seeds and
// the demo share its scenes.
//
// Two pinhole cameras, or cameras with a lens ([Lens]), look at textured things in real
// perspective. A [Shot] is a [Scene] filmed with a [Rig]: it puts in any fault of the rig, of
// a camera, of the light or of the sync, on purpose. [Shot.Truth] says what that comes to in
// the units and with the signs of the metrics, without looking at the pictures.
//
// A picture is drawn by casting a ray through each pixel, and 16 where things meet in it.
// Every texture is a smooth function of the place on the thing, lattice noise with quintic
// fades after K. Perlin, "Improving noise", SIGGRAPH 2002 (from memory), filtered to the
// aperture of a pixel. So what both eyes see lies where the truth says to about a hundredth
// of a pixel.
//
// Axes: x to the right, y down, z away from the viewer; lengths in metres.
//
// A mirror, a bumpy surface or a pane of glass shows its surroundings once over ([Paint]); the
// truth is that of the surface itself, or of what is behind the pane.
//
// Limits: no shadows, no reflection in a reflection, no lens distortion. Out of focus,
// what lies behind the edge of something near is guessed from what is beside it.
package synth
