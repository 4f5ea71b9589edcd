// Package screen tells what parallax means to somebody who sits before a screen.
//
// A picture is known by the width of its screen, by the angle it fills, or by neither: then it
// is seen from three picture heights. Of parallax follow the angle between the eyes' lines of
// sight, the millimetres on the screen, and how far away a thing seems. The zone of comfort is
// that of T. Shibata, J. Kim, D. Hoffman, M. Banks, "The zone of comfort: predicting visual
// discomfort with stereo displays", Journal of Vision 11(8), 2011; its coefficients are from
// memory. None of it is medical advice: see the README.
package screen
