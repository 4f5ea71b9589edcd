package focus

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// Detail is looked at in patches whose height is this share of the picture's, to
	// the nearest power of two pixels: 64 of 1080. They are half as wide.
	patchShare = 1 / 17.0
	// softPatches is how many patches are looked for. Each softEvery-th is enough where
	// there is little noise.
	softPatches = 900
	softEvery   = 4
	// softSome is how many times better than softFloor a blur must be known from some
	// of the patches.
	softSome = 3
	// softKnown is the least share of a patch whose parallax must be known, and
	// softSteep by how many quarter pixels it may change over it.
	softKnown = 0.85
	softSteep = 1.5
	// softTiles is into how many parts across and down the picture is divided for
	// the standard error.
	softTiles = 5
	// maxPatchBlur is the widest blur that is measured well in a patch, as a share of
	// its height. A wider one leaves little but coarse detail, for which the pictures
	// are binned and the patches larger.
	maxPatchBlur = 1.0 / 32
	// minPatchBlur is the narrowest that is measured in binned pictures: where noise hides
	// it in those that are not, it is not known well.
	minPatchBlur = 1.0 / 80
)

// softBins are the sizes of the bins, in pixels, that detail is looked at in.
var softBins = [...]int{1, 2, 4}

// softPatch is a patch that both eyes show at nearly one depth.
type softPatch struct {
	leftX, leftY, rightX, rightY int     // its first pixel
	restX, restY                 float64 // pixels by which the right eye shows it farther on
	leftNoise, rightNoise        float64 // variance of a bin
	parallax                     float64 // quarter pixels
	tile                         int
}

// view is what detail is looked for in.
type View struct {
	Left, Right *picture.Frame
	Lights      *light.Overlap // nil where none are known, for the reason given
	Reason      string
	Geometry    *geometry.Fit
	Quarter     *raster.Raster // of the right picture
	Grains      func() *[2]*raster.NoiseModel
}

// Detail is what both eyes show in patches well spread over the picture, in bins of
// so many pixels.
type Detail struct {
	of          *View
	bin         int
	patches     []softPatch
	fft         *transform
	left, right *scan
	zoom        float64 // of the right picture, a share
	aligner     *aligner
	reason      string // why there is none

	// blur is that of all patches together in bins², with its variance, and spread
	// their spectra with the sharper eye blurred about as much.
	blur, variance float64
	spread         *spread
}

// FindDetail looks in bins as small as show the blur well; where noise leaves too little
// in those, in others.
func FindDetail(v *View) *Detail {
	var first, wide *Detail
	for _, bin := range softBins {
		d := detailIn(v, bin)
		if first == nil {
			first = d
		}
		if d.reason != "" {
			break
		}
		d.spread = d.spreadBy(0, d.some())
		blur, ok := d.compare(nil, d.spread).rough(0)
		if d.blur = blur; !ok {
			continue
		}
		if math.Abs(blur) > stat.Sq(maxPatchBlur*float64(d.fft.n)) {
			wide = d
		} else if d.fitBlur() && (d == first || math.Abs(d.blur) > stat.Sq(minPatchBlur*float64(d.fft.n))) {
			return d
		}
	}
	if wide != nil && wide.fitBlur() {
		return wide
	}
	if first.reason == "" {
		first.reason = noDetail
	}
	return first
}

// fitBlur measures the blur of all patches, from what it is about.
func (d *Detail) fitBlur() (ok bool) {
	d.spread, d.blur, d.variance, ok = d.measure(d.all(), d.blur)
	return ok
}

// measure returns the blur of patches with its variance, from what it is about, and the
// spectra it was found in: those that have been read, and where noise or texture leave it
// uncertain all of them.
func (d *Detail) measure(patches []int, about float64) (s *spread, blur, variance float64, ok bool) {
	var some []int
	for _, i := range patches {
		if d.spread.spectra[i].left != nil {
			some = append(some, i)
		}
	}
	c := d.compare(some, d.spread)
	blur, variance, ok = c.solveBlur(about)
	if len(some) < len(patches) && (!ok || variance > stat.Sq(softFloor*softFloor/softSome/d.unit())) {
		if !ok {
			blur = about
		}
		c = d.compare(patches, d.withMore(c.spread, patches))
		blur, variance, ok = c.solveBlur(blur)
	}
	return c.spread, blur, variance, ok
}

// some returns some of the patches, well spread, to begin with.
func (d *Detail) some() []int {
	var some []int
	for i := 0; i < len(d.patches); i += softEvery {
		some = append(some, i)
	}
	return some
}

// unit returns how many square pixels of a picture 1920 wide a square bin is.
func (d *Detail) unit() float64 {
	return stat.Sq(1920 / float64(d.of.Left.Width()) * float64(d.bin))
}

// detailIn finds the most textured patch of each part of the picture.
func detailIn(v *View, bin int) *Detail {
	d := &Detail{of: v, bin: bin}
	l := v.Lights
	if l == nil {
		d.reason = v.Reason
		return d
	}
	nx, ny := raster.Reduction(v.Left)
	n := 1 << int(math.Round(math.Log2(float64(v.Left.Height())*patchShare)))
	high, wide := bin*n/(raster.Quarter*ny), bin*n/2/(raster.Quarter*nx) // cells
	if n < 16 || high < 2 || wide < 1 {
		d.reason = "the picture is too small"
		return d
	}
	g := v.Geometry
	d.zoom = g.Zoom()
	d.fft = newTransform(n)
	d.aligner = newAligner(g.Similarity.Cos, g.Similarity.Sin, n)
	d.left, d.right = newScan(v.Left, bin), newScan(v.Right, bin)
	leftNoise, rightNoise := v.Grains()[0].Curve(), v.Grains()[1].Curve()
	side := max(1, int(math.Sqrt(float64(l.Width*l.Height)/softPatches)))
	for ty := 0; ty < l.Height; ty += side {
		for tx := 0; tx < l.Width; tx += side {
			best, bx, by := float32(0), -1, -1
			for y := ty; y < min(ty+side, l.Height-high); y += 2 {
				for x := tx; x < min(tx+side, l.Width-wide); x += 2 {
					if t := texture(l, x, y, wide, high, softSteep*float32(bin)); t > best {
						best, bx, by = t, x, y
					}
				}
			}
			if bx < 0 {
				continue
			}
			// The middle of the patch decides where the right eye shows it.
			mx, my := bx+wide/2, by+high/2
			if !l.Known[my*l.Width+mx] {
				continue
			}
			at := float64(l.At[my*l.Width+mx])
			down := g.DisplacementAt(v.Quarter, float64(mx)+at, float64(my))
			s := softPatch{
				leftX: bx * raster.Quarter * nx, leftY: by * raster.Quarter * ny, parallax: at,
				tile: by*softTiles/l.Height*softTiles + bx*softTiles/l.Width,
			}
			at, down = at*raster.Quarter*float64(nx), down*raster.Quarter*float64(ny)
			s.rightX, s.rightY = s.leftX+int(math.Round(at)), s.leftY+int(math.Round(down))
			s.restX, s.restY = at-math.Round(at), down-math.Round(down)
			if !d.left.holds(n, 0, s.leftX, s.leftY) || !d.right.holds(n, d.aligner.room(n/2, n), s.rightX, s.rightY) {
				continue
			}
			s.leftNoise = noiseOf(l.Left, v.Left, leftNoise, bx, by, wide, high) / float64(bin*bin)
			s.rightNoise = noiseOf(l.Right, v.Right, rightNoise, bx, by, wide, high) / float64(bin*bin)
			d.patches = append(d.patches, s)
		}
	}
	if len(d.patches) < minPatches {
		d.reason = "too few textured places"
	}
	return d
}

// texture returns how much both eyes' brightness changes down a block of cells; 0
// where they do not show it at one depth, as far as steep allows, or one of them
// clips.
func texture(l *light.Overlap, x, y, wide, high int, steep float32) (sum float32) {
	low, top, known := float32(math.Inf(1)), float32(math.Inf(-1)), 0
	for j := y; j < y+high; j++ {
		for i := x; i < x+wide; i++ {
			at := j*l.Width + i
			if !l.Known[at] {
				continue
			}
			if max(l.Left.Peak[at], l.Right.Peak[at]) > light.Brightest {
				return 0
			}
			known++
			low, top = min(low, l.At[at]), max(top, l.At[at])
			if j > y && l.Known[at-l.Width] {
				d := l.Left.Signal[1][at] - l.Left.Signal[1][at-l.Width]
				e := l.Right.Signal[1][at] - l.Right.Signal[1][at-l.Width]
				sum += min(d*d, e*e)
			}
		}
	}
	if top-low > steep || float64(known) < softKnown*float64(wide*high) {
		return 0
	}
	return sum
}
