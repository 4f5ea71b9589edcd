package depth

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// maxRimDistance is how far from the edge, in quarter pixels, a place may lie that
	// stands for it.
	maxRimDistance = 3
	// Between such a place and the edge a thing may end: the map is unknown there, and
	// things in front seem larger in it than they are. So a strip at the very edge is compared
	// between the eyes, rimWidth columns and rimHeight rows of pixels, where its contrast is
	// minRimContrast times the noise. It shows something else than the thing where its
	// correlation at the parallax of the thing is below minRimCorrelation, or larger by
	// rimMargin at a parallax farther behind, by up to the share rimSearch of the width.
	rimWidth          = 6
	rimHeight         = 8
	minRimCorrelation = 0.4
	rimMargin         = 0.15
	rimSearch         = 0.03
	minRimContrast    = 3
)

// alignedMap is the map of parallax as it will be after the right picture is aligned. A
// rotated or enlarged picture has a parallax at its rim that is an error of the picture, not
// a window violation.
type alignedMap struct {
	*Map
	g           *geometry.Fit
	left, right *raster.Raster // full rasters
	noise       func() float64 // standard deviation of the noise of the left one
}

// at returns the parallax of a place that has one, in % of the picture width.
func (c alignedMap) at(x, y int) float64 {
	const centre = (raster.Quarter - 1) / 2.0
	px := raster.Quarter*float64(x) + centre
	X, Y := c.left.Place(px, raster.Quarter*float64(y)+centre)
	xr, _ := c.left.Place(px+float64(c.Parallax[y*c.Width+x]), 0)
	aligned, _ := c.g.Similarity.Undo(xr, Y+c.g.Similarity.Down)
	return 100 * (aligned - X) / (c.left.Sx * float64(c.left.Width))
}

// vertical collects the parallax along the left or the right edge. A place stands for the
// edge when it is the outermost one with a parallax and either eye sees it at its own edge:
// things in front of the screen are seen by both eyes only from where the right picture begins
// to where the left one ends.
func (c alignedMap) vertical(atLeft bool) edge {
	e := edge{parallax: make([]float64, c.Height), endsBefore: make([]bool, c.Height)}
	for y := range c.Height {
		row := c.Parallax[y*c.Width:][:c.Width]
		e.parallax[y] = math.NaN()
		for i := range c.Width {
			x := i
			if !atLeft {
				x = c.Width - 1 - i
			}
			p := row[x]
			if p != p {
				continue
			}
			// How far it is from the edge of the picture that ends first.
			in := float64(i)
			if (p < 0) == atLeft {
				in -= math.Abs(float64(p)) / raster.Quarter
			}
			if in <= maxRimDistance {
				e.parallax[y] = c.at(x, y)
				e.endsBefore[y] = e.parallax[y] <= -minInFront && c.endsBefore(atLeft, float64(p), y)
			}
			break
		}
	}
	return e
}

// endsBefore reports whether a thing in front, with that parallax in pixels, ends before the
// edge: whether the strip at the edge in row y clearly shows something else.
func (c alignedMap) endsBefore(atLeft bool, parallax float64, y int) bool {
	own, clear := c.rimCorrelation(atLeft, parallax, y)
	if !clear {
		return false
	}
	if own < minRimCorrelation {
		return true
	}
	for behind := 2.0; behind <= rimSearch*float64(c.left.Width); behind++ {
		if other, clear := c.rimCorrelation(atLeft, parallax+behind, y); clear && other > own+rimMargin {
			return true
		}
	}
	return false
}

// rimCorrelation returns the correlation of both eyes' strips at the edge in row y at a parallax
// in pixels; false where they have too little contrast or lie outside the pictures.
func (c alignedMap) rimCorrelation(atLeft bool, parallax float64, y int) (float64, bool) {
	var n, a, b, aa, bb, ab float64
	for j := range rimHeight {
		row := raster.Quarter*y + raster.Quarter/2 - rimHeight/2 + j
		for i := range rimWidth {
			// The left edge of the right picture, or the right edge of the left one.
			x, u := float64(1+i)-parallax, float64(1+i)
			if !atLeft {
				x = float64(c.left.Width - 2 - i)
				u = x + parallax
			}
			v, ok := c.left.Bilinear(x, float64(row))
			w, also := c.right.Bilinear(u, float64(row)+c.g.DisplacementAt(c.right, u, float64(row)))
			if !ok || !also {
				continue
			}
			n++
			a += v
			b += w
			aa += v * v
			bb += w * w
			ab += v * w
		}
	}
	if n < rimWidth*rimHeight*2/3 {
		return 0, false
	}
	aa, bb, ab = aa/n-stat.Sq(a/n), bb/n-stat.Sq(b/n), ab/n-a/n*b/n
	clear := stat.Sq(minRimContrast * c.noise())
	return ab / math.Sqrt(aa*bb), aa > clear && bb > clear
}

// horizontal collects the parallax along the top or the bottom edge.
func (c alignedMap) horizontal(atTop bool) edge {
	e := edge{parallax: make([]float64, c.Width), endsBefore: make([]bool, c.Width)}
	for x := range c.Width {
		e.parallax[x] = math.NaN()
		for i := range maxRimDistance {
			y := i
			if !atTop {
				y = c.Height - 1 - i
			}
			if p := c.Parallax[y*c.Width+x]; p == p {
				e.parallax[x] = c.at(x, y)
				break
			}
		}
	}
	return e
}
