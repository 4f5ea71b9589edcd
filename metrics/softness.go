package metrics

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

var softness = Metric{
	Name: "softness", Unit: "px of Gaussian blur, in 1920-wide pixels", Decimals: 2,
	Doc:   "Blur of the right eye's picture beyond the left's: the sigma of the Gaussian that would make them alike, from how fast detail fades in what both eyes show. Positive: the right eye is softer.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 1,
	Measure: func(p *Pair) Measurement { return p.softer(everywhere) },
}

var softnessNear = Metric{
	Name: "softness_near", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the nearest third of what both eyes show. Where it differs from softness_far the lenses are focused at different distances; where both are alike one lens is soft.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 1,
	Measure: func(p *Pair) Measurement { return p.softer(nearThird) },
}

var softnessFar = Metric{
	Name: "softness_far", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the farthest third of what both eyes show; see softness_near.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 1,
	Measure: func(p *Pair) Measurement { return p.softer(farThird) },
}

// depths says which part of the scene is looked at.
type depths uint8

const (
	everywhere depths = iota
	nearThird
	farThird
)

const (
	// Detail is looked at in patches whose height is this share of the picture's,
	// to the nearest power of two pixels: 64 of 1080. They are half as wide.
	patchShare = 1 / 17.0
	// softPatches is how many patches are enough.
	softPatches = 320
	softLeast   = 10
	// softLeak is the share of the coarsest power that may leak into any other.
	softLeak = 2e-6
	// softKnown is the least share of a patch whose parallax must be known.
	softKnown = 0.85
	// softSteep is by how many quarter pixels the parallax may change over a
	// patch.
	softSteep = 1.5
	// depthApart is the least difference of parallax, as a share of the width,
	// between what is called near and far.
	depthApart = 0.003
	// noiseDoubt is the share of the noise that may be wrong.
	noiseDoubt = 0.1
	// softFloor is the least blur in 1920-wide pixels that stands out: surfaces at
	// a slant are drawn out in one eye. softShare is the part of a blur that is
	// uncertain besides, softUnfit that of a blur too wide for the patches.
	softFloor = 0.06
	softShare = 0.04
	softUnfit = 0.1
	// softUnknown is the largest standard error that still says something.
	softUnknown = 0.5
	// softWidest is the widest blur that is measured well in a patch, as a share of
	// its height.
	softWidest = 1.0 / 64
)

// softPatch is a patch that both eyes show: how much detail of each size it
// holds.
type softPatch struct {
	left, right           []float64 // mean power by cycles per patch height
	leftNoise, rightNoise float64   // what noise adds to each
	weight                []float64 // of each frequency among other patches
	parallax              float64   // quarter pixels
	tile                  int
}

// softer measures the blur of the right eye against the left. A wide blur leaves
// little but coarse detail, for which the pictures are binned and the patches
// larger.
func (p *Pair) softer(which depths) Measurement {
	m := softMeasure{pair: p, which: which}
	share := softShare
	for scale := 1; ; scale *= 2 {
		wide, reason := m.at(scale)
		if reason != "" {
			if scale > 1 {
				share = softUnfit // the finer scale has to do
				break
			}
			return Missing(reason)
		}
		if !wide || scale == softScales[len(softScales)-1] {
			break
		}
	}
	// Power fades as exp(−4π²σ²f²).
	unit := 1920 / float64(p.Left.Width())
	sigma := func(slope float64) float64 {
		return math.Copysign(math.Sqrt(math.Abs(slope))/(2*math.Pi), slope) * unit
	}
	m.se = math.Hypot(m.se, sq(2*math.Pi*softFloor/unit))
	value := sigma(m.slope)
	se := (sigma(m.slope+m.se) - sigma(m.slope-m.se)) / 2
	if se = math.Hypot(se, share*value); se > max(softUnknown, 2*softUnfit*math.Abs(value)) {
		return Missing(noDetail)
	}
	return Measured(value, se)
}

const noDetail = "too little detail to tell blur from noise"

// softScales are the sizes of bins that detail is looked at in, in pixels.
var softScales = [...]int{1, 2, 4}

// softMeasure is the slope of the spectra's ratio on the last scale looked at, per
// cycle and pixel of the frame.
type softMeasure struct {
	pair      *Pair
	which     depths
	slope, se float64
}

// at measures with bins of so many pixels. Wide says that the blur is too wide to
// be measured well on that scale.
func (m *softMeasure) at(scale int) (wide bool, reason string) {
	d := m.pair.detailAt(scale)
	if d.reason != "" {
		return false, d.reason
	}
	patches := d.patches
	if m.which != everywhere {
		sorted := slices.SortedStableFunc(slices.Values(patches), func(a, b softPatch) int { return cmp.Compare(a.parallax, b.parallax) })
		third := len(sorted) / 3
		near, far := sorted[:third], sorted[len(sorted)-third:]
		if third < softLeast {
			return false, "too few textured places near and far"
		}
		if far[third/2].parallax-near[third/2].parallax < depthApart*float64(m.pair.left().quarter.width) {
			return false, "all is at nearly one depth"
		}
		patches = near
		if m.which == farThird {
			patches = far
		}
	}
	all := newSpectra(len(patches[0].left))
	parts := map[int]bool{}
	for i := range patches {
		all.add(&patches[i], 1)
		parts[patches[i].tile] = true
	}
	slope, formal, ok := all.slope()
	if !ok {
		return false, noDetail
	}
	n := float64(len(parts))
	if n < 3 {
		return false, "too few textured places"
	}
	// The standard error by leaving out each part of the picture in turn.
	variance := 0.0
	for tile := range softTiles * softTiles {
		if !parts[tile] {
			continue
		}
		rest := all.clone()
		for i := range patches {
			if patches[i].tile == tile {
				rest.add(&patches[i], -1)
			}
		}
		other, _, ok := rest.slope()
		if !ok {
			return false, noDetail
		}
		variance += (n - 1) / n * sq(other-slope)
	}
	m.slope, m.se = slope*float64(scale*scale), math.Sqrt(max(variance, formal))*float64(scale*scale)
	// Rings smear the ratio of the power where it falls steeply.
	return math.Sqrt(math.Abs(slope))/(2*math.Pi) > softWidest*float64(2*len(all.left)), ""
}

// detailAt returns the detail found in bins of so many pixels.
func (p *Pair) detailAt(scale int) *detail {
	if p.detail == nil {
		p.detail = make(map[int]*detail)
	}
	d := p.detail[scale]
	if d == nil {
		d = new(detail)
		d.patches, d.reason = p.softPatches(scale)
		p.detail[scale] = d
	}
	return d
}

type detail struct {
	patches []softPatch
	reason  string
}

// softTiles is into how many parts across and down the picture is divided for
// the standard error.
const softTiles = 5

// softPatches finds textured patches that both eyes show at one depth, well
// spread, and measures their detail in both frames at full size.
func (p *Pair) softPatches(scale int) (patches []softPatch, reason string) {
	light := p.light()
	if light.lights == nil {
		return nil, light.reason
	}
	l := light.lights
	nx, ny := reduction(p.Left)
	n := 1 << int(math.Round(math.Log2(float64(p.Left.Height())*patchShare)))
	high, wide := scale*n/(quarter*ny), scale*n/2/(quarter*nx) // cells
	if n < 16 || high < 2 || wide < 1 {
		return nil, "the picture is too small"
	}
	g, _ := p.geometry()
	// The most textured place of each part of the picture.
	side := max(1, int(math.Sqrt(float64(l.width*l.height)/softPatches)))
	fft := newTransform(n)
	left, right := newScan(p.Left, scale), newScan(p.Right, scale)
	leftNoise, rightNoise := p.grains()[0].curve(), p.grains()[1].curve()
	for ty := 0; ty < l.height; ty += side {
		for tx := 0; tx < l.width; tx += side {
			best, bx, by := float32(0), -1, -1
			for y := ty; y < min(ty+side, l.height-high); y += 2 {
				for x := tx; x < min(tx+side, l.width-wide); x += 2 {
					if t := l.texture(x, y, wide, high, softSteep*float32(scale)); t > best {
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
			down := g.dropAt(p.right().quarter, float64(mx)+at, float64(my))
			x0, y0 := bx*quarter*nx, by*quarter*ny
			x1, y1 := x0+int(math.Round(at*quarter*float64(nx))), y0+int(math.Round(down*quarter*float64(ny)))
			s := softPatch{
				left: make([]float64, n/2), right: make([]float64, n/2), parallax: at,
				tile: by*softTiles/l.height*softTiles + bx*softTiles/l.width,
			}
			if !left.read(fft.left, n, x0, y0) || !right.read(fft.right, n, x1, y1) {
				continue
			}
			fft.power(s.left, s.right)
			s.leftNoise = l.left.noise(p.Left, leftNoise, bx, by, wide, high) / float64(scale*scale)
			s.rightNoise = l.right.noise(p.Right, rightNoise, bx, by, wide, high) / float64(scale*scale)
			s.weigh()
			patches = append(patches, s)
		}
	}
	if patches = agreeing(patches); len(patches) < softLeast {
		return nil, "too few textured places"
	}
	return patches, ""
}

// texture returns how much both eyes' brightness changes down a block of cells; 0
// where they do not show it at one depth, as far as steep allows, or one of them
// clips.
func (l *lights) texture(x, y, wide, high int, steep float32) (sum float32) {
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

// agreeing leaves out patches whose coarse detail differs between the eyes as it
// does not elsewhere: there the eyes show different things.
func agreeing(patches []softPatch) []softPatch {
	if len(patches) < softLeast {
		return nil
	}
	const coarse = 4
	ratio := make([]float64, len(patches))
	for i, s := range patches {
		var l, r float64
		for k := 1; k < coarse; k++ {
			l, r = l+s.left[k], r+s.right[k]
		}
		ratio[i] = math.Log(max(r, 1e-9) / max(l, 1e-9))
	}
	centre := median(slices.Clone(ratio))
	off := make([]float64, len(ratio))
	for i, v := range ratio {
		off[i] = math.Abs(v - centre)
	}
	limit := 3*1.4826*median(slices.Clone(off)) + 0.02
	var out []softPatch
	for i, s := range patches {
		if off[i] <= limit {
			out = append(out, s)
		}
	}
	return out
}

// spectra is the detail of many patches, each counted by its own contrast.
type spectra struct {
	left, right           []float64
	leftNoise, rightNoise []float64
	leftLeak, rightLeak   []float64 // what may have leaked from coarse detail
	// count and squares are the sums of what each patch adds and of its square:
	// few patches may hold most of the finest detail.
	count, squares []float64
}

func newSpectra(n int) *spectra {
	of := func() []float64 { return make([]float64, n) }
	return &spectra{of(), of(), of(), of(), of(), of(), of(), of()}
}

func (s *spectra) clone() *spectra {
	return &spectra{
		slices.Clone(s.left), slices.Clone(s.right), slices.Clone(s.leftNoise), slices.Clone(s.rightNoise),
		slices.Clone(s.leftLeak), slices.Clone(s.rightLeak), slices.Clone(s.count), slices.Clone(s.squares),
	}
}

func (s *spectra) add(p *softPatch, times float64) {
	for k, w := range p.weight {
		v := times * w
		s.left[k] += v * p.left[k]
		s.right[k] += v * p.right[k]
		s.leftNoise[k] += v * p.leftNoise
		s.rightNoise[k] += v * p.rightNoise
		s.leftLeak[k] += v * softLeak * p.left[1]
		s.rightLeak[k] += v * softLeak * p.right[1]
		share := w * math.Sqrt(p.left[k]*p.right[k])
		s.count[k] += times * share
		s.squares[k] += times * share * share
	}
}

// weigh settles how much the patch counts at each frequency: as a patch of the
// same contrast everywhere would, and less where noise drowns it. The weights
// treat both eyes alike and change slowly with the frequency, so that they don't
// follow the chances of a single one.
func (p *softPatch) weigh() {
	const reach = 2
	p.weight = make([]float64, len(p.left))
	noise := math.Sqrt(p.leftNoise * p.rightNoise)
	for k := 1; k < len(p.left); k++ {
		var l, r float64
		for j := max(k-reach, 1); j <= min(k+reach, len(p.left)-1); j++ {
			l, r = l+p.left[j], r+p.right[j]
		}
		n := float64(min(k+reach, len(p.left)-1) - max(k-reach, 1) + 1)
		if power := math.Sqrt(l*r) / n; power > noise {
			p.weight[k] = (power - noise) / (power * power)
		}
	}
}

// slope returns by how much the logarithm of the left eye's power over the right
// eye's grows with the square of the frequency in cycles per pixel. What noise
// adds is fitted with it, from what is known of the noise: white, and so much of it
// with an error of noiseDoubt.
// It comes with its variance as far as noise and the model tell.
func (s *spectra) slope() (slope, variance float64, ok bool) {
	const (
		first = 4    // lower frequencies leak into each other, the patch being narrow
		last  = 0.45 // cycles per pixel, beyond which codecs and filters do as they please
		// Relative variances of the power of one patch: where it is noise of each
		// eye's own, and where it is what both show.
		own, shared = 0.3, 0.06
		// misfit is the share by which power departs from the model in one ring or
		// another, patterns having their own frequencies.
		misfit = 0.04
		rounds = 30
	)
	n := float64(2 * len(s.left))
	until := min(int(last*n), len(s.left)-1)
	// The unknowns are the logarithm of the ratio where the frequency is 0, the
	// slope, and the noise of left and right in units of what is known of it.
	var u [4]float64
	u[2], u[3] = 1, 1
	if u[0], u[1], ok = s.start(first, until); !ok {
		return 0, 0, false
	}
	a := mat.NewSymDense(len(u), nil)
	v := mat.NewVecDense(len(u), nil)
	for round := range rounds {
		a.Zero()
		v.Zero()
		told := 0
		for k := first; k <= until; k++ {
			if s.count[k] <= 0 {
				continue
			}
			f2 := sq(float64(k) / n)
			h := math.Exp(min(u[0]-u[1]*f2, 20))
			leftNoise, rightNoise := u[2]*s.leftNoise[k], u[3]*s.rightNoise[k]
			l, r := s.left[k]-leftNoise, s.right[k]-rightNoise
			// What both show, by both.
			same := max((l*h+r)/2, 0)
			// Rings hold the more frequencies the wider they are.
			times := s.squares[k] / max(s.count[k]*s.count[k], 1e-12) / float64(k)
			spread := own*times*(rightNoise*(rightNoise+2*same)+sq(h)*leftNoise*(leftNoise+2*same/max(h, 1e-9))) +
				shared*times*2*sq(same) + sq(misfit*same) + sq(misfit*(rightNoise+h*leftNoise)) +
				sq(s.rightLeak[k]) + sq(h*s.leftLeak[k])
			w := 1 / spread
			if same > 0.2*(rightNoise+h*leftNoise) {
				told++
			}
			e := r - h*l
			d := [4]float64{h * l, -h * l * f2, -h * s.leftNoise[k], s.rightNoise[k]} // of what is predicted
			for i := range d {
				for j := i; j < len(d); j++ {
					a.SetSym(i, j, a.At(i, j)+w*d[i]*d[j])
				}
				v.SetVec(i, v.AtVec(i)+w*d[i]*e)
			}
		}
		if told < 3 {
			return 0, 0, false
		}
		for i := 2; i < 4; i++ {
			a.SetSym(i, i, a.At(i, i)+1/sq(noiseDoubt))
			v.SetVec(i, v.AtVec(i)-(u[i]-1)/sq(noiseDoubt))
		}
		var chol mat.Cholesky
		if !chol.Factorize(a) {
			return 0, 0, false
		}
		var d mat.VecDense
		if chol.SolveVecTo(&d, v) != nil {
			return 0, 0, false
		}
		var inverse mat.SymDense
		if chol.InverseTo(&inverse) != nil {
			return 0, 0, false
		}
		variance = inverse.At(1, 1)
		// Steps are bounded, as the frequencies that count change on the way.
		step := 1.0
		if size := math.Abs(d.AtVec(1)); size > 20 {
			step = 20 / size
		}
		for i := range u {
			u[i] += step * d.AtVec(i)
		}
		u[2], u[3] = min(max(u[2], 0), 3), min(max(u[3], 0), 3)
		if round > 3 && math.Abs(d.AtVec(1)) < 1e-4 {
			break
		}
	}
	return u[1], variance, true
}

// start returns the logarithm of the ratio of the powers, right to left, where the
// frequency is 0, and by how much it falls with the square of the frequency, from
// the frequencies up to the one where noise takes over in either eye.
func (s *spectra) start(first, until int) (level, slope float64, ok bool) {
	n := float64(2 * len(s.left))
	var sw, sx, sy, sxx, sxy float64
	told := 0
	for k := first; k <= until; k++ {
		l, r := s.left[k]-s.leftNoise[k], s.right[k]-s.rightNoise[k]
		if s.count[k] <= 0 || l < s.leftNoise[k] || r < s.rightNoise[k] {
			break
		}
		w, x, y := float64(k), sq(float64(k)/n), math.Log(r/l)
		sw, sx, sy, sxx, sxy = sw+w, sx+w*x, sy+w*y, sxx+w*x*x, sxy+w*x*y
		told++
	}
	if told < 3 {
		return 0, 0, false
	}
	down := (sw*sxy - sx*sy) / (sw*sxx - sx*sx)
	return (sy - down*sx) / sw, -down, true
}

// scan reads a frame's brightness in bins of bin by bin pixels: in light, as blur
// spreads light and not signals. White is lightUnit.
type scan struct {
	frame *Frame
	bin   int
	light [3][]float32 // of the code values of each plane
}

const lightUnit = 255

func newScan(f *Frame, bin int) *scan {
	s := &scan{frame: f, bin: bin}
	weights := []float64{1}
	if f.Layout == RGB {
		kr, kg, kb := f.Colour.luma(f.Height())
		weights = []float64{kr, kg, kb}
	}
	table, sig := f.Colour.Transfer.table(), f.signal()
	for c, weight := range weights {
		s.light[c] = make([]float32, int(1)<<f.Depth)
		for code := range s.light[c] {
			v := float64((float32(code) - sig.black) / (sig.white - sig.black))
			s.light[c][code] = float32(weight * lightUnit / float64(bin*bin) * table.at(v))
		}
	}
	return s
}

// read takes a patch n bins high and half as wide from pixel (x, y) on. It reports
// false where the patch leaves the picture.
func (s *scan) read(dst []float64, n, x, y int) bool {
	wide := n / 2
	if x < 0 || y < 0 || x+wide*s.bin > s.frame.Width() || y+n*s.bin > s.frame.Height() {
		return false
	}
	clear(dst)
	for c, light := range s.light {
		if light == nil {
			break
		}
		p := s.frame.Planes[c]
		for j := range n * s.bin {
			out := dst[j/s.bin*wide:][:wide]
			row := p.Row(y + j)[x:][:wide*s.bin]
			if s.bin == 1 {
				for i, code := range row {
					out[i] += float64(light[code])
				}
				continue
			}
			for i, code := range row {
				out[i/s.bin] += float64(light[code])
			}
		}
	}
	return true
}

// noise returns the variance of the noise of one pixel's brightness over a block of
// cells, as scan has it.
func (c *cells) noise(f *Frame, n *noiseCurve, x, y, wide, high int) (sum float64) {
	kr, kg, kb := f.Colour.luma(f.Height())
	for j := y; j < y+high; j++ {
		for i := x; i < x+wide; i++ {
			at := j*c.width + i
			r, g, b := float64(c.signal[0][at]), float64(c.signal[1][at]), float64(c.signal[2][at])
			vg, _ := n.at(g)
			if f.Layout == Grey {
				sum += vg * n.lit(g)
				continue
			}
			vr, _ := n.at(r)
			vb, _ := n.at(b)
			vr, vg, vb = kr*kr*vr, kg*kg*vg, kb*kb*vb
			if f.Layout == RGB {
				sum += vr*n.lit(r) + vg*n.lit(g) + vb*n.lit(b)
			} else { // the luma's noise, seen through the curve where the luma is
				sum += (vr + vg + vb) * n.lit(kr*r+kg*g+kb*b)
			}
		}
	}
	return sum / float64(wide*high) * lightUnit * lightUnit
}

// transform finds the power of two patches, n high and n/2 wide, by frequency
// alike in all directions, as blur is, behind a Hann window.
type transform struct {
	n             int
	left, right   []float64 // what to transform, row by row
	down, across  []float64 // window
	both          []complex128
	column        []complex128
	ring          []int // cycles per patch height of each pair of frequencies; 0 is left out
	rows, columns fourier
	energy        float64 // of the window, mean per pixel times the pixels: Σw²
	ringWidth     []float64
}

func newTransform(n int) *transform {
	wide := n / 2
	t := &transform{
		n: n, left: make([]float64, n*wide), right: make([]float64, n*wide),
		down: hann(n), across: hann(wide),
		both: make([]complex128, n*wide), column: make([]complex128, n),
		ring: make([]int, n*wide), rows: newFourier(wide), columns: newFourier(n),
		ringWidth: make([]float64, n/2),
	}
	for _, v := range t.down {
		for _, w := range t.across {
			t.energy += sq(v * w)
		}
	}
	for j := range n {
		for i := range wide {
			// A patch half as wide has frequencies twice as far apart.
			fx, fy := float64(2*min(i, wide-i)), float64(min(j, n-j))
			if k := int(math.Hypot(fx, fy) + 0.5); k < n/2 && fx <= fy {
				t.ring[j*wide+i] = k
				t.ringWidth[k]++
			}
		}
	}
	return t
}

func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
	}
	return w
}

// power returns the mean power of left and right by cycles per patch height, in
// units in which white noise has its variance.
func (t *transform) power(left, right []float64) {
	n, wide := t.n, t.n/2
	var l, r, sum float64
	for j, v := range t.down {
		for i, w := range t.across {
			l, r, sum = l+v*w*t.left[j*wide+i], r+v*w*t.right[j*wide+i], sum+v*w
		}
	}
	l, r = l/sum, r/sum
	// Both go through one transform, as its real and imaginary part.
	for j, v := range t.down {
		row := t.both[j*wide:][:wide]
		for i, w := range t.across {
			row[i] = complex((t.left[j*wide+i]-l)*v*w, (t.right[j*wide+i]-r)*v*w)
		}
		t.rows.run(row)
	}
	for i := range wide {
		for j := range t.column {
			t.column[j] = t.both[j*wide+i]
		}
		t.columns.run(t.column)
		for j, z := range t.column {
			t.both[j*wide+i] = z
		}
	}
	clear(left)
	clear(right)
	for j := range n {
		for i := range wide {
			k := t.ring[j*wide+i]
			if k == 0 {
				continue
			}
			a, b := t.both[j*wide+i], t.both[(n-j)%n*wide+(wide-i)%wide]
			// L = (a + b̄)/2, R = (a − b̄)/2i.
			left[k] += (sq(real(a)+real(b)) + sq(imag(a)-imag(b))) / 4
			right[k] += (sq(real(a)-real(b)) + sq(imag(a)+imag(b))) / 4
		}
	}
	for k, w := range t.ringWidth {
		if w > 0 {
			left[k] /= w * t.energy
			right[k] /= w * t.energy
		}
	}
}

// fourier is a Fourier transform of a power of two by radix 2, in place (J. W.
// Cooley, J. W. Tukey, 1965).
type fourier struct {
	turn []complex128
	swap []int
}

func newFourier(n int) fourier {
	t := fourier{turn: make([]complex128, n/2), swap: make([]int, n)}
	for i := range t.turn {
		sin, cos := math.Sincos(-2 * math.Pi * float64(i) / float64(n))
		t.turn[i] = complex(cos, sin)
	}
	for i := 1; i < n; i++ {
		t.swap[i] = t.swap[i/2]/2 + i%2*(n/2)
	}
	return t
}

func (t *fourier) run(v []complex128) {
	n := len(v)
	for i, j := range t.swap {
		if i < j {
			v[i], v[j] = v[j], v[i]
		}
	}
	for size := 2; size <= n; size *= 2 {
		half, step := size/2, n/size
		for from := 0; from < n; from += size {
			a, b := v[from:][:half], v[from+half:][:half]
			for k := range a {
				x := b[k] * t.turn[k*step]
				a[k], b[k] = a[k]+x, a[k]-x
			}
		}
	}
}
