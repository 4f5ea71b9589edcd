package metrics

import "math"

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
	// softWidest is the widest blur that is measured well in a patch, as a share of
	// its height. A wider one leaves little but coarse detail, for which the pictures
	// are binned and the patches larger.
	softWidest = 1.0 / 32
	// softNarrowest is the narrowest that is measured in binned pictures: where noise hides
	// it in those that are not, it is not known well.
	softNarrowest = 1.0 / 80
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
type focusView struct {
	left, right *Frame
	lights      *lights // nil where none are known, for the reason given
	reason      string
	geometry    *geometry
	quarter     *raster // of the right picture
	grains      func() *[2]*grain
}

// detail is what both eyes show in patches well spread over the picture, in bins of
// so many pixels.
type detail struct {
	of          *focusView
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

// findDetail looks in bins as small as show the blur well; where noise leaves too little
// in those, in others.
func findDetail(v *focusView) *detail {
	var first, wide *detail
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
		if math.Abs(blur) > sq(softWidest*float64(d.fft.n)) {
			wide = d
		} else if d.settle() && (d == first || math.Abs(d.blur) > sq(softNarrowest*float64(d.fft.n))) {
			return d
		}
	}
	if wide != nil && wide.settle() {
		return wide
	}
	if first.reason == "" {
		first.reason = noDetail
	}
	return first
}

// settle measures the blur of all patches, from what it is about.
func (d *detail) settle() (ok bool) {
	d.spread, d.blur, d.variance, ok = d.measure(d.all(), d.blur)
	return ok
}

// measure returns the blur of patches with its variance, from what it is about, and the
// spectra it was found in: those that have been read, and where noise or texture leave it
// uncertain all of them.
func (d *detail) measure(patches []int, about float64) (s *spread, blur, variance float64, ok bool) {
	var some []int
	for _, i := range patches {
		if d.spread.spectra[i].left != nil {
			some = append(some, i)
		}
	}
	c := d.compare(some, d.spread)
	blur, variance, ok = c.settle(about)
	if len(some) < len(patches) && (!ok || variance > sq(softFloor*softFloor/softSome/d.unit())) {
		if !ok {
			blur = about
		}
		c = d.compare(patches, d.withMore(c.spread, patches))
		blur, variance, ok = c.settle(blur)
	}
	return c.spread, blur, variance, ok
}

// some returns some of the patches, well spread, to begin with.
func (d *detail) some() []int {
	var some []int
	for i := 0; i < len(d.patches); i += softEvery {
		some = append(some, i)
	}
	return some
}

// unit returns how many square pixels of a picture 1920 wide a square bin is.
func (d *detail) unit() float64 {
	return sq(1920 / float64(d.of.left.Width()) * float64(d.bin))
}

// detailIn finds the most textured patch of each part of the picture.
func detailIn(v *focusView, bin int) *detail {
	d := &detail{of: v, bin: bin}
	l := v.lights
	if l == nil {
		d.reason = v.reason
		return d
	}
	nx, ny := reduction(v.left)
	n := 1 << int(math.Round(math.Log2(float64(v.left.Height())*patchShare)))
	high, wide := bin*n/(quarter*ny), bin*n/2/(quarter*nx) // cells
	if n < 16 || high < 2 || wide < 1 {
		d.reason = "the picture is too small"
		return d
	}
	g := v.geometry
	d.zoom = g.zoom()
	d.fft = newTransform(n)
	d.aligner = newAligner(g.line.cos, g.line.sin, n)
	d.left, d.right = newScan(v.left, bin), newScan(v.right, bin)
	leftNoise, rightNoise := v.grains()[0].curve(), v.grains()[1].curve()
	side := max(1, int(math.Sqrt(float64(l.width*l.height)/softPatches)))
	for ty := 0; ty < l.height; ty += side {
		for tx := 0; tx < l.width; tx += side {
			best, bx, by := float32(0), -1, -1
			for y := ty; y < min(ty+side, l.height-high); y += 2 {
				for x := tx; x < min(tx+side, l.width-wide); x += 2 {
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
			if !l.known[my*l.width+mx] {
				continue
			}
			at := float64(l.at[my*l.width+mx])
			down := g.dropAt(v.quarter, float64(mx)+at, float64(my))
			s := softPatch{
				leftX: bx * quarter * nx, leftY: by * quarter * ny, parallax: at,
				tile: by*softTiles/l.height*softTiles + bx*softTiles/l.width,
			}
			at, down = at*quarter*float64(nx), down*quarter*float64(ny)
			s.rightX, s.rightY = s.leftX+int(math.Round(at)), s.leftY+int(math.Round(down))
			s.restX, s.restY = at-math.Round(at), down-math.Round(down)
			if !d.left.holds(n, 0, s.leftX, s.leftY) || !d.right.holds(n, d.aligner.room(n/2, n), s.rightX, s.rightY) {
				continue
			}
			s.leftNoise = noiseOf(l.left, v.left, leftNoise, bx, by, wide, high) / float64(bin*bin)
			s.rightNoise = noiseOf(l.right, v.right, rightNoise, bx, by, wide, high) / float64(bin*bin)
			d.patches = append(d.patches, s)
		}
	}
	if len(d.patches) < softLeast {
		d.reason = "too few textured places"
	}
	return d
}

// texture returns how much both eyes' brightness changes down a block of cells; 0
// where they do not show it at one depth, as far as steep allows, or one of them
// clips.
func texture(l *lights, x, y, wide, high int, steep float32) (sum float32) {
	low, top, known := float32(math.Inf(1)), float32(math.Inf(-1)), 0
	for j := y; j < y+high; j++ {
		for i := x; i < x+wide; i++ {
			at := j*l.width + i
			if !l.known[at] {
				continue
			}
			if max(l.left.peak[at], l.right.peak[at]) > brightest {
				return 0
			}
			known++
			low, top = min(low, l.at[at]), max(top, l.at[at])
			if j > y && l.known[at-l.width] {
				d := l.left.signal[1][at] - l.left.signal[1][at-l.width]
				e := l.right.signal[1][at] - l.right.signal[1][at-l.width]
				sum += min(d*d, e*e)
			}
		}
	}
	if top-low > steep || float64(known) < softKnown*float64(wide*high) {
		return 0
	}
	return sum
}
