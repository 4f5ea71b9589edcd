package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// change describes what happened between two signatures of one eye by sums over the picture's
// whole width, so that parallax does not shift them in time.
type change [changeCount]float64

const (
	changeBands = 6 // of the picture's height
	flowBands   = 3

	// The components of a change. First that of the mean brightness in code values. Then,
	// for each band, its energy: the mean size of the change without that of the
	// brightness, divided by the mean size of the picture's gradient across, so that it
	// depends on the motion and little on what is seen. Then the mean flow across and down
	// of each of the coarser bands, in cells.
	changeLight  = 0
	changeEnergy = 1
	changeAcross = changeEnergy + changeBands
	changeDown   = changeAcross + flowBands
	changeCount  = changeDown + flowBands
)

// faintSlope is a gradient, in code values per cell, that noise and coding may make.
const faintSlope = 0.5

// changeSeries is the changes of an eye's frames in order, each against an earlier frame; nil
// where one of the two is missing.
type changeSeries []*change

// changes returns how each frame differs from the one stride frames before.
func changes(signatures []*picture.Signature, stride int) changeSeries {
	list := make(changeSeries, len(signatures))
	for t := stride; t < len(signatures); t++ {
		if signatures[t-stride] != nil && signatures[t] != nil {
			list[t] = changeSince(signatures[t-stride], signatures[t])
		}
	}
	return list
}

// speed returns how far, in cells, the picture usually moves in one change: the median over
// the changes of the largest flow of a band; 0 without changes.
func (c changeSeries) speed() float64 {
	var speeds []float64
	for _, d := range c {
		if d == nil {
			continue
		}
		var largest float64
		for b := range flowBands {
			largest = max(largest, math.Hypot(d[changeAcross+b], d[changeDown+b]))
		}
		speeds = append(speeds, largest)
	}
	if len(speeds) == 0 {
		return 0
	}
	return stat.Median(speeds)
}

// changeSince returns what changed since an earlier signature.
func changeSince(before, s *picture.Signature) *change {
	c := &change{}
	var diff [picture.SignatureHeight][picture.SignatureWidth]float64
	var light float64
	for j := range s.Luma {
		for i, v := range s.Luma[j] {
			d := float64(v - before.Luma[j][i])
			diff[j][i] = d
			light += d
		}
	}
	light /= picture.SignatureWidth * picture.SignatureHeight
	c[changeLight] = light
	const rows = picture.SignatureHeight / changeBands
	for b := range changeBands {
		var energy, slope float64
		for j := b * rows; j < (b+1)*rows; j++ {
			for i, d := range diff[j] {
				energy += math.Abs(d - light)
				if i > 0 {
					slope += math.Abs(float64(s.Luma[j][i]-s.Luma[j][i-1])) + math.Abs(float64(before.Luma[j][i]-before.Luma[j][i-1]))
				}
			}
		}
		c[changeEnergy+b] = energy / (slope/2 + picture.SignatureWidth*rows*faintSlope)
	}
	for b := range flowBands {
		c[changeAcross+b], c[changeDown+b] = flow(before, s, &diff, b*picture.SignatureHeight/flowBands, (b+1)*picture.SignatureHeight/flowBands)
	}
	return c
}

// flow returns the motion, in cells, of the rows from top to bottom−1 as one shift,
// positive to the right and down: the least-squares solution of the brightness equation
// with a common change of brightness (B. Lucas, T. Kanade, "An iterative image registration
// technique with an application to stereo vision", IJCAI 1981; from memory). It is 0 where
// nothing is seen.
func flow(before, s *picture.Signature, diff *[picture.SignatureHeight][picture.SignatureWidth]float64, top, bottom int) (across, down float64) {
	var n, gx, gy, d, xx, xy, yy, xd, yd float64
	for j := max(top, 1); j < min(bottom, picture.SignatureHeight-1); j++ {
		for i := 1; i < picture.SignatureWidth-1; i++ {
			x := float64(s.Luma[j][i+1]-s.Luma[j][i-1]+before.Luma[j][i+1]-before.Luma[j][i-1]) / 4
			y := float64(s.Luma[j+1][i]-s.Luma[j-1][i]+before.Luma[j+1][i]-before.Luma[j-1][i]) / 4
			t := diff[j][i]
			n++
			gx += x
			gy += y
			d += t
			xx += x * x
			xy += x * y
			yy += y * y
			xd += x * t
			yd += y * t
		}
	}
	xx, xy, yy = xx-gx*gx/n, xy-gx*gy/n, yy-gy*gy/n
	xd, yd = xd-gx*d/n, yd-gy*d/n
	// A ridge: without gradients there is no motion.
	xx, yy = xx+stat.Sq(faintSlope)*n, yy+stat.Sq(faintSlope)*n
	det := xx*yy - xy*xy
	return -(xd*yy - yd*xy) / det, -(yd*xx - xd*xy) / det
}

// DelayVisibility returns for each signature how well a delay between the eyes would show in it:
// the vertical motion in cells per frame, with a share of the energy of the change beyond
// that of the quietest times. It is 0 for the first signature and for those at or after a
// missing one.
func DelayVisibility(signatures []*picture.Signature) []float64 {
	const share, quiet = 0.3, 0.05
	list := changes(signatures, 1)
	energies := make([]float64, len(list))
	var known []float64
	for t, c := range list {
		if c == nil {
			continue
		}
		for k := changeEnergy; k < changeAcross; k++ {
			energies[t] += c[k] / changeBands
		}
		known = append(known, energies[t])
	}
	out := make([]float64, len(list))
	if len(known) == 0 {
		return out
	}
	quietest := stat.Quantile(known, quiet)
	for t, c := range list {
		if c == nil {
			continue
		}
		var down float64
		for k := changeDown; k < changeCount; k++ {
			down += stat.Sq(c[k]) / flowBands
		}
		out[t] = math.Sqrt(down) + share*max(energies[t]-quietest, 0)
	}
	return out
}
