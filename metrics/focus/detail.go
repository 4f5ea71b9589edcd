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
	// patchShare is the height of a patch as a share of the picture's, rounded to a power
	// of two in pixels: 64 of 1080. A patch is half as wide.
	patchShare = 1 / 17.0
	// maxPatches is about how many patches a picture has. Every sampleEvery-th of them is
	// read first, and is enough where there is little noise.
	maxPatches  = 900
	sampleEvery = 4
	// sampleEnough is by how many times the variance of the blur from that sample must be
	// smaller than what blurFloor stands for.
	sampleEnough = 3
	// minKnownShare is the least share of a patch whose parallax must be known, and
	// maxSlope the largest range of it within the patch, in pixels of the quarter raster
	// per pixel of a bin.
	minKnownShare = 0.85
	maxSlope      = 1.5
	// tilesAcross is the number of tiles across and down over which the standard error
	// sums.
	tilesAcross = 5
	// maxPatchBlur is the largest sigma that a patch measures well, as a share of its
	// height. A larger one leaves only coarse detail, for which larger bins are used.
	maxPatchBlur = 1.0 / 32
	// minPatchBlur is the smallest sigma that is measured in binned pictures, as a share
	// of a patch's height: where noise hides it at full resolution, bins do not help.
	minPatchBlur = 1.0 / 80
)

// binSizes are the widths of bins in pixels, in the order in which they are tried.
var binSizes = [...]int{1, 2, 4}

// patch is a patch that both eyes show at nearly one depth.
type patch struct {
	leftX, leftY, rightX, rightY int     // its top left pixel
	fractionX, fractionY         float64 // of a pixel, what is left of its place in the right eye
	leftNoise, rightNoise        float64 // variance of a bin's brightness, see patchNoise
	parallax                     float64 // pixels of the quarter raster, negative in front of the screen
	tile                         int
}

// Inputs is what FindDetail takes: a pair of frames with what was found in them before.
type Inputs struct {
	Left, Right *picture.Frame
	Lights      *light.Overlap // nil where there is none
	Reason      string         // why Lights is nil, else empty
	Geometry    *geometry.Fit  // not nil where Lights is not
	Quarter     *raster.Raster // the right picture's quarter raster
	// Noise returns the noise of the left and of the right eye. It is called only where
	// patches are looked for.
	Noise func() *[2]*raster.NoiseModel
}

// Detail is the fine texture that both eyes show: textured patches well spread over the
// picture, with their spectra. Where there is none, its methods return the reason.
type Detail struct {
	in          *Inputs
	bin         int
	patches     []patch
	fft         *transform
	left, right *luminance
	zoom        float64 // of the right picture; 0.01 is 1 % larger
	aligner     *aligner
	reason      string // why there is none, else empty

	// The blur of all patches together in bins², with its variance, and their spectra
	// with the sharper eye blurred by about as much.
	blur, variance float64
	spectra        *spectra
}

// FindDetail finds the detail that both eyes show, in the smallest bins in which the blur
// between them can be measured.
func FindDetail(v *Inputs) *Detail {
	var first, wide *Detail
	for _, bin := range binSizes {
		d := findDetail(v, bin)
		if first == nil {
			first = d
		}
		if d.reason != "" {
			break
		}
		d.spectra = d.blurredBy(0, d.sample())
		blur, ok := d.compare(nil, d.spectra).roughBlur(0)
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

// fitBlur measures the blur of all patches, starting from the rough one.
func (d *Detail) fitBlur() (ok bool) {
	d.spectra, d.blur, d.variance, ok = d.measure(d.all(), d.blur)
	return ok
}

// measure returns the blur of patches in bins² with its variance, starting from a guess,
// and the spectra it was found in. It uses the patches that have been read, and all where
// those leave the blur uncertain.
func (d *Detail) measure(patches []int, guess float64) (s *spectra, blur, variance float64, ok bool) {
	var read []int
	for _, i := range patches {
		if d.spectra.patches[i].left != nil {
			read = append(read, i)
		}
	}
	c := d.compare(read, d.spectra)
	blur, variance, ok = c.solveBlur(guess)
	if len(read) < len(patches) && (!ok || variance > stat.Sq(blurFloor*blurFloor/sampleEnough/d.unit())) {
		if !ok {
			blur = guess
		}
		c = d.compare(patches, d.withMore(c.spectra, patches))
		blur, variance, ok = c.solveBlur(blur)
	}
	return c.spectra, blur, variance, ok
}

// sample returns the patches that are read first.
func (d *Detail) sample() []int {
	var sample []int
	for i := 0; i < len(d.patches); i += sampleEvery {
		sample = append(sample, i)
	}
	return sample
}

// unit returns the area of a bin in square pixels of a picture 1920 wide.
func (d *Detail) unit() float64 {
	return stat.Sq(1920 / float64(d.in.Left.Width()) * float64(d.bin))
}

// findDetail picks the most textured patch of each part of the picture, in bins of that size.
func findDetail(v *Inputs, bin int) *Detail {
	d := &Detail{in: v, bin: bin}
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
	d.left, d.right = newLuminance(v.Left, bin), newLuminance(v.Right, bin)
	leftNoise, rightNoise := v.Noise()[0].Curve(), v.Noise()[1].Curve()
	side := max(1, int(math.Sqrt(float64(l.Width*l.Height)/maxPatches)))
	for ty := 0; ty < l.Height; ty += side {
		for tx := 0; tx < l.Width; tx += side {
			best, bx, by := float32(0), -1, -1
			for y := ty; y < min(ty+side, l.Height-high); y += 2 {
				for x := tx; x < min(tx+side, l.Width-wide); x += 2 {
					if t := texture(l, x, y, wide, high, maxSlope*float32(bin)); t > best {
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
			at := float64(l.Parallax[my*l.Width+mx])
			down := g.DisplacementAt(v.Quarter, float64(mx)+at, float64(my))
			s := patch{
				leftX: bx * raster.Quarter * nx, leftY: by * raster.Quarter * ny, parallax: at,
				tile: by*tilesAcross/l.Height*tilesAcross + bx*tilesAcross/l.Width,
			}
			at, down = at*raster.Quarter*float64(nx), down*raster.Quarter*float64(ny)
			s.rightX, s.rightY = s.leftX+int(math.Round(at)), s.leftY+int(math.Round(down))
			s.fractionX, s.fractionY = at-math.Round(at), down-math.Round(down)
			if !d.left.holds(n, 0, s.leftX, s.leftY) || !d.right.holds(n, d.aligner.room(n/2, n), s.rightX, s.rightY) {
				continue
			}
			s.leftNoise = patchNoise(l.Left, v.Left, leftNoise, bx, by, wide, high) / float64(bin*bin)
			s.rightNoise = patchNoise(l.Right, v.Right, rightNoise, bx, by, wide, high) / float64(bin*bin)
			d.patches = append(d.patches, s)
		}
	}
	if len(d.patches) < minPatches {
		d.reason = "too few textured places"
	}
	return d
}

// texture returns the sum of the squares of the vertical differences of green that both
// eyes show in a block of cells; 0 where its parallax is too little known or ranges over
// more than maxRange pixels of the quarter raster, or where an eye clips.
func texture(l *light.Overlap, x, y, wide, high int, maxRange float32) (sum float32) {
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
			low, top = min(low, l.Parallax[at]), max(top, l.Parallax[at])
			if j > y && l.Known[at-l.Width] {
				d := l.Left.Signal[1][at] - l.Left.Signal[1][at-l.Width]
				e := l.Right.Signal[1][at] - l.Right.Signal[1][at-l.Width]
				sum += min(d*d, e*e)
			}
		}
	}
	if top-low > maxRange || float64(known) < minKnownShare*float64(wide*high) {
		return 0
	}
	return sum
}
