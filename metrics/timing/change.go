package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// change is what a signature and the one before it tell of what happened between
// them, in terms that do not depend on where in the picture things are seen
// across: sums over the picture's whole width, so that parallax does not shift
// them in time.
type change [changeCount]float64

const (
	changeBands = 6 // of the picture's height
	flowBands   = 3

	// The parts of a change: the mean brightness; for each band how much moves,
	// the mean size of the change, brightness taken out, against that of the
	// picture's slopes, so that what a moving picture shows does not tell, but how
	// it moves; the mean flow across and down of each of the coarser bands.
	changeLight  = 0
	changeEnergy = 1
	changeAcross = changeEnergy + changeBands
	changeDown   = changeAcross + flowBands
	changeCount  = changeDown + flowBands
)

// faintSlope is the slope, in code values per cell, that noise and coding may well
// make.
const faintSlope = 0.5

// series is the changes of an eye's frames, one after the other, each against an
// earlier frame; nil where one of the two is missing.
type series []*change

// changes returns how each frame differs from the one so many frames before.
func changes(signatures []*picture.Signature, stride int) series {
	list := make(series, len(signatures))
	for t := stride; t < len(signatures); t++ {
		if signatures[t-stride] != nil && signatures[t] != nil {
			list[t] = changeSince(signatures[t-stride], signatures[t])
		}
	}
	return list
}

// pace returns how far, in cells, the picture usually moves from one change to the
// next: the median over the changes of the largest flow.
func (c series) pace() float64 {
	var paces []float64
	for _, d := range c {
		if d == nil {
			continue
		}
		var most float64
		for b := range flowBands {
			most = max(most, math.Hypot(d[changeAcross+b], d[changeDown+b]))
		}
		paces = append(paces, most)
	}
	if len(paces) == 0 {
		return 0
	}
	return stat.Median(paces)
}

// since returns what changed since an earlier signature.
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
		var stir, slope float64
		for j := b * rows; j < (b+1)*rows; j++ {
			for i, d := range diff[j] {
				stir += math.Abs(d - light)
				if i > 0 {
					slope += math.Abs(float64(s.Luma[j][i]-s.Luma[j][i-1])) + math.Abs(float64(before.Luma[j][i]-before.Luma[j][i-1]))
				}
			}
		}
		c[changeEnergy+b] = stir / (slope/2 + picture.SignatureWidth*rows*faintSlope)
	}
	for b := range flowBands {
		c[changeAcross+b], c[changeDown+b] = flow(before, s, &diff, b*picture.SignatureHeight/flowBands, (b+1)*picture.SignatureHeight/flowBands)
	}
	return c
}

// flow returns the mean motion, in cells, of the rows from top to bottom, as far
// as it is one shift: the least-squares solution of the brightness equation with
// a common change of brightness (B. Lucas, T. Kanade, IJCAI 1981; from memory).
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
	// Nothing to see gives no motion.
	xx, yy = xx+stat.Sq(faintSlope)*n, yy+stat.Sq(faintSlope)*n
	det := xx*yy - xy*xy
	return -(xd*yy - yd*xy) / det, -(yd*xx - xd*xy) / det
}

// Liveliness returns for each signature how much moves up and down in the
// picture, with a share of whatever moves more than at the quietest times: where a
// delay between the eyes shows best. It is in cells per frame; of the first
// signature, and of those next to a missing one, it is nothing.
func Liveliness(signatures []*picture.Signature) []float64 {
	const share, quiet = 0.3, 0.05
	list := changes(signatures, 1)
	stirs := make([]float64, len(list))
	var known []float64
	for t, c := range list {
		if c == nil {
			continue
		}
		for k := changeEnergy; k < changeAcross; k++ {
			stirs[t] += c[k] / changeBands
		}
		known = append(known, stirs[t])
	}
	out := make([]float64, len(list))
	if len(known) == 0 {
		return out
	}
	least := stat.Quantile(known, quiet)
	for t, c := range list {
		if c == nil {
			continue
		}
		var down float64
		for k := changeDown; k < changeCount; k++ {
			down += stat.Sq(c[k]) / flowBands
		}
		out[t] = math.Sqrt(down) + share*max(stirs[t]-least, 0)
	}
	return out
}
