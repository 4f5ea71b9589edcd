package metrics

import (
	"cmp"
	"math"
	"slices"
)

// Hitch is a place where one eye's frames do not go on as the other eye's do.
type Hitch struct {
	Right bool      `json:"right"` // the eye that it happens to, else the left one
	Kind  HitchKind `json:"kind"`  // what happens
	// Frame is the number of the eye's first frame that shows it, as the
	// signatures are numbered; it may be wrong by Within frames.
	Frame  int `json:"frame"`
	Within int `json:"within,omitempty"`
	// Count is how many frames are repeated, black, or lacking before Frame.
	Count int `json:"count"`
	// Step is by how many frames more the right eye is behind the left one from
	// there on: a repeated frame may be made up for at once, or stay. Known says
	// whether that can be seen.
	Step  int  `json:"step"`
	Known bool `json:"known"`
}

// HitchKind says what happens to an eye's frames.
type HitchKind string

const (
	Repeated HitchKind = "repeated" // frames that show what the frame before them shows
	Dropped  HitchKind = "dropped"  // frames lack before this one
	Black    HitchKind = "black"    // frames without a picture
)

const (
	// hitchNear is how many changes before and after one are its surroundings.
	hitchNear = 6
	// hitchFaint is how large the surroundings' changes must be, in code values,
	// for a change to be missed or found too large among them: several times what
	// coding and averaged noise make.
	hitchFaint = 0.12
	// A frame is a repeat when it changes by less than hitchStill of what is usual
	// there, while the other eye changes by at least hitchMoves of what is usual.
	hitchStill = 0.25
	hitchMoves = 0.5
	// A frame may follow on missing ones when it changes by hitchLeap times what
	// goes with the other eye. The leapsMost that stand out most are looked into.
	hitchLeap = 1.2
	leapsMost = 20
	// A step is looked for by hitchReach frames either way and, where there is none so
	// small, by hitchFar.
	hitchReach = 6
	hitchFar   = 48
	// A step is found where any other place costs more by stepSure, as a share of a
	// change that is nothing like the other eye's.
	stepSure   = 0.3
	hitchAlong = 40 // frames from one look for a step to the next
	// A step is one of whole frames: hitchWhole is how far it may seem not to be.
	hitchWhole = 0.25
	// The slip before and after it must rest on hitchLeast frames and be as certain
	// as hitchSE, in frames.
	hitchLeast  = 48
	hitchSE     = 0.1
	hitchAround = 200 // changes before and after it that show a step
	// The picture's motion is even when that of jumpNear changes before and after
	// scatters by less than jumpUneven of itself, and clear when it is jumpLeast
	// cells; frames lack where one eye moves on by twice that, or nearly, and not
	// aside, while the other one's pace stays within jumpCalm.
	jumpNear   = 3
	jumpUneven = 0.15
	jumpLeast  = 0.02
	jumpWide   = 0.35
	jumpAside  = 0.3
	jumpCalm   = 0.25
	// A picture is black when its cells differ by less than blackFlat code values
	// and are darker than blackDark, a few steps above the narrow range's black.
	blackFlat = 4
	blackDark = 24
)

// Hitches finds where one eye's frames stumble. The right eye's frame i+slip
// goes with the left eye's i; signatures are of consecutive frames, nil where
// one was not read. What both eyes do at once, such as a still within an edit,
// is none. In a picture that rests nothing is seen.
func Hitches(left, right []*Signature, slip int) []Hitch {
	l, r := stirs(left), stirs(right)
	lc, rc := changes(left, 1), changes(right, 1)
	var list []Hitch
	list = append(list, blacks(left, right, slip, false)...)
	list = append(list, blacks(right, left, -slip, true)...)
	list = append(list, repeats(l, r, slip, false)...)
	list = append(list, repeats(r, l, -slip, true)...)
	list = dropRepeatsOfBlack(list)
	at := func(h Hitch) int { // its left frame
		if h.Right {
			return h.Frame - slip
		}
		return h.Frame
	}
	list = append(list, jumps(lc, rc, slip, list, at)...)

	// A step in sync is looked for between neighbouring hitches.
	var places []int
	for _, h := range list {
		places = append(places, at(h))
	}
	slices.Sort(places)
	for i, h := range list {
		if !h.Known {
			list[i].Step, list[i].Known = stepAt(lc, rc, slip, places, at(h), h.Count)
		}
	}
	// Where frames lack without a jump that shows, sync steps all the same. A leap
	// alone may be a flash or a shadow.
	for _, p := range suspects(l, r, slip) {
		if slices.ContainsFunc(places, func(q int) bool { return abs(p-q) <= hitchNear }) {
			continue
		}
		step, known := stepAt(lc, rc, slip, places, p, 0)
		if !known || step == 0 {
			continue
		}
		p, within, before := stepFrom(left, right, lc, rc, slip, step, places, p)
		if again, known := stepAt(lc, rc, slip, places, p, 0); !known || again != step {
			continue // it is not where it seems to be
		}
		h := Hitch{Kind: Dropped, Frame: p, Within: within, Count: step, Step: step, Known: true}
		if step < 0 {
			h.Right, h.Frame, h.Count = true, p+before, -step
		}
		list = append(list, h)
		places = append(places, p)
		slices.Sort(places)
	}
	slices.SortStableFunc(list, func(g, h Hitch) int { return cmp.Compare(at(g), at(h)) })
	all := slices.Clone(list)
	return slices.DeleteFunc(list, func(h Hitch) bool { return excused(h, l, r, slip, all, at) })
}

// stirs returns the mean size of the change of each signature against the one
// before, NaN where there is none.
func stirs(list []*Signature) []float64 {
	out := make([]float64, len(list))
	for t := range out {
		out[t] = math.NaN()
		if t == 0 || list[t-1] == nil || list[t] == nil {
			continue
		}
		var sum float64
		for j := range list[t].Luma {
			for i, v := range list[t].Luma[j] {
				sum += math.Abs(float64(v - list[t-1].Luma[j][i]))
			}
		}
		out[t] = sum / (signatureWidth * signatureHeight)
	}
	return out
}

// usual returns the median of the changes around one, without itself, NaN when
// there are too few.
func usual(stir []float64, t int) float64 {
	var near []float64
	for i := max(t-hitchNear, 0); i <= min(t+hitchNear, len(stir)-1); i++ {
		if i != t && !math.IsNaN(stir[i]) {
			near = append(near, stir[i])
		}
	}
	if len(near) < hitchNear {
		return math.NaN()
	}
	return median(near)
}

// repeats finds frames of an eye that do not change while the other eye's do.
// Of's frame t goes with the other's t+slip.
func repeats(of, other []float64, slip int, right bool) []Hitch {
	var list []Hitch
	for t := range of {
		if !rests(of, other, t, t+slip) {
			continue
		}
		if n := len(list); n > 0 && list[n-1].Frame+list[n-1].Count == t {
			list[n-1].Count++
			continue
		}
		list = append(list, Hitch{Right: right, Kind: Repeated, Frame: t, Count: 1})
	}
	return list
}

// rests reports whether an eye's frame t does not change while the other eye's
// frame o does.
func rests(of, other []float64, t, o int) bool {
	if o < 0 || o >= len(other) || math.IsNaN(of[t]) || math.IsNaN(other[o]) {
		return false
	}
	calm := usual(other, o)
	if !(calm > hitchFaint) || other[o] < hitchMoves*calm {
		return false
	}
	// Within a long freeze the surroundings rest too: what is usual is then what
	// the other eye shows.
	pace := usual(of, t)
	if math.IsNaN(pace) || pace < hitchMoves*calm {
		pace = hitchMoves * calm
	}
	return of[t] <= hitchStill*pace
}

// excused reports whether a repeat is none after all, as the slip has changed
// before it and the other eye rests there too.
func excused(h Hitch, l, r []float64, slip int, list []Hitch, at func(Hitch) int) bool {
	if h.Kind != Repeated {
		return false
	}
	for _, g := range list {
		if g.Known && at(g) < at(h) {
			slip += g.Step
		}
	}
	if h.Right {
		return !rests(r, l, h.Frame, h.Frame-slip)
	}
	return !rests(l, r, h.Frame, h.Frame+slip)
}

// suspects lists left frames at which to look for a step in sync: those where an
// eye changes by more than goes with the other, what stands out most first, and
// then all along.
func suspects(left, right []float64, slip int) []int {
	type leap struct {
		at    int
		ratio float64
	}
	var leaps []leap
	for i := range left {
		j := i + slip
		if j < 0 || j >= len(right) || math.IsNaN(left[i]) || math.IsNaN(right[j]) {
			continue
		}
		l, r := usual(left, i), usual(right, j)
		ratio := math.Abs(math.Log(left[i] / l * r / right[j]))
		if l > hitchFaint && r > hitchFaint && ratio > math.Log(hitchLeap) {
			leaps = append(leaps, leap{i, ratio})
		}
	}
	slices.SortStableFunc(leaps, func(p, q leap) int { return cmp.Compare(q.ratio, p.ratio) })
	var list []int
	for _, l := range leaps[:min(len(leaps), leapsMost)] {
		list = append(list, l.at)
	}
	for i := hitchAlong; i < len(left); i += hitchAlong {
		list = append(list, i)
	}
	return list
}

// drift is how the brightness of a signature's cells changes, signed, smoothed over
// as much as parallax may shift it: so that the changes of two frames in a row are
// together what changes over both.
type drift [signatureHeight][signatureWidth]float32

// drifts returns the change from each signature to the next, nil where there is
// none.
func drifts(list []*Signature) []*drift {
	out := make([]*drift, len(list))
	for t := 1; t < len(list); t++ {
		if list[t-1] == nil || list[t] == nil {
			continue
		}
		d := &drift{}
		for j := range d {
			for i := range d[j] {
				d[j][i] = list[t].Luma[j][i] - list[t-1].Luma[j][i]
			}
		}
		d.smooth()
		d.smooth()
		out[t] = d
	}
	return out
}

// smooth filters by the binomial 1 2 1 both ways.
func (d *drift) smooth() {
	from := *d
	at := func(j, i int) float32 {
		return from[min(max(j, 0), signatureHeight-1)][min(max(i, 0), signatureWidth-1)]
	}
	for j := range d {
		for i := range d[j] {
			d[j][i] = (4*at(j, i) + 2*(at(j-1, i)+at(j+1, i)+at(j, i-1)+at(j, i+1)) +
				at(j-1, i-1) + at(j-1, i+1) + at(j+1, i-1) + at(j+1, i+1)) / 16
		}
	}
}

// overall returns the change over n frames from t on, or false where one lacks.
func overall(list []*drift, t, n int) (sum drift, ok bool) {
	if t < 0 || t+n > len(list) {
		return sum, false
	}
	for _, d := range list[t:][:n] {
		if d == nil {
			return sum, false
		}
		for j := range sum {
			for i, v := range d[j] {
				sum[j][i] += v
			}
		}
	}
	return sum, true
}

// unlike returns how much of a change, as a share from 0 to 1, is not another one
// made brighter by a gain and shifted a little.
func (d *drift) unlike(other *drift, gain float64) float64 {
	var total, left, xx, xy, yy, xd, yd float64
	for j := 1; j < signatureHeight-1; j++ {
		for i := 1; i < signatureWidth-1; i++ {
			x := float64(other[j][i+1] - other[j][i-1])
			y := float64(other[j+1][i] - other[j-1][i])
			v := float64(d[j][i])
			e := v - gain*float64(other[j][i])
			total += v * v
			left += e * e
			xx += x * x
			xy += x * y
			yy += y * y
			xd += x * e
			yd += y * e
		}
	}
	if det := xx*yy - xy*xy; det > 0 {
		left -= (xd*xd*yy - 2*xd*yd*xy + yd*yd*xx) / det
	}
	if total == 0 {
		return 1
	}
	return min(max(left/total, 0), 1)
}

// size returns the sum of the squares of a change.
func (d *drift) size() (sum float64) {
	for j := range d {
		for _, v := range d[j] {
			sum += float64(v * v)
		}
	}
	return sum
}

// stepFrom returns the first left frame that comes after a step: of all frames
// around one, that with which the eyes' changes go together best; and how far from
// it others do nearly as well, and the slip before it.
func stepFrom(left, right []*Signature, lc, rc course, slip, step int, places []int, near int) (at, within, before int) {
	l, r := drifts(left), drifts(right)
	from, to := between(len(left), places, near, 0)
	before = slip
	if s, ok := slipWithin(lc, rc, slip, from, near); ok {
		before = slip + int(math.Round(s))
	}
	// The right eye may be brighter.
	var ll, rr float64
	for i := from; i < to; i++ {
		if j := i + before; j >= 0 && j < len(r) && l[i] != nil && r[j] != nil {
			ll += l[i].size()
			rr += r[j].size()
		}
	}
	if ll == 0 || rr == 0 {
		return near, to - from, before
	}
	gain := math.Sqrt(rr / ll)
	// Apart tells how little n left changes from i on and m right ones from j on
	// come to the same.
	apart := func(i, n, j, m int) float64 {
		a, leftOK := overall(l, i, n)
		b, rightOK := overall(r, j, m)
		if !leftOK || !rightOK {
			return 0
		}
		return b.unlike(&a, gain)
	}
	n, m := 1+max(-step, 0), 1+max(step, 0) // changes of either eye across the step
	var costs []float64
	sum := 0.0
	for i := from; i < to; i++ {
		sum += apart(i, 1, i+before+step, 1)
	}
	for i := from; i+n <= to; i++ {
		cost := sum + apart(i, n, i+before, m)
		for t := i; t < i+n; t++ {
			cost -= apart(t, 1, t+before+step, 1)
		}
		costs = append(costs, cost)
		sum += apart(i, 1, i+before, 1) - apart(i, 1, i+before+step, 1)
	}
	best := 0
	for i, c := range costs {
		if c < costs[best] {
			best = i
		}
	}
	for i, c := range costs {
		if c-costs[best] < stepSure {
			within = max(within, abs(i-best))
		}
	}
	return from + best, within, before
}

// between returns the stretch around a left frame that other hitches leave.
func between(n int, places []int, at, count int) (from, to int) {
	from, to = max(at-hitchAround, 0), min(at+count+hitchAround, n)
	for _, p := range places {
		if p < at-1 {
			from = max(from, p+1)
		}
		if p > at+count+1 {
			to = min(to, p)
		}
	}
	return from, to
}

// jumps finds frames of an eye that move on by twice what the frames around them
// do, or more, in a picture that moves evenly, while the other eye's keep their
// pace: frames lack before them. Places near hitches that are known already are
// left out.
func jumps(l, r course, slip int, known []Hitch, at func(Hitch) int) []Hitch {
	var list []Hitch
	for i := range l {
		j := i + slip
		if j < 0 || j >= len(r) || slices.ContainsFunc(known, func(h Hitch) bool { return i >= at(h)-jumpNear && i <= at(h)+h.Count+jumpNear }) {
			continue
		}
		gl, calmL := pace(l, i)
		gr, calmR := pace(r, j)
		if !calmL || !calmR {
			continue
		}
		switch {
		case math.Abs(gl-1) < jumpCalm && gr > 2-jumpWide:
			n := int(math.Round(gr)) - 1
			list = append(list, Hitch{Right: true, Kind: Dropped, Frame: j, Count: n, Step: -n, Known: true})
		case math.Abs(gr-1) < jumpCalm && gl > 2-jumpWide:
			n := int(math.Round(gl)) - 1
			list = append(list, Hitch{Kind: Dropped, Frame: i, Count: n, Step: n, Known: true})
		}
	}
	return list
}

// pace returns how far a change moves the picture as a multiple of what the
// changes around it do; ok says that those are even and clear, and that this one
// goes the same way.
func pace(list course, t int) (times float64, ok bool) {
	if t-jumpNear < 0 || t+jumpNear >= len(list) {
		return 0, false
	}
	var mean change
	for i := t - jumpNear; i <= t+jumpNear; i++ {
		if list[i] == nil {
			return 0, false
		}
		if i != t {
			for k := changeAcross; k < changeCount; k++ {
				mean[k] += list[i][k] / (2 * jumpNear)
			}
		}
	}
	var square, scatter, along float64
	for k := changeAcross; k < changeCount; k++ {
		square += sq(mean[k])
		along += mean[k] * list[t][k]
		for i := t - jumpNear; i <= t+jumpNear; i++ {
			if i != t {
				scatter += sq(list[i][k]-mean[k]) / (2 * jumpNear)
			}
		}
	}
	if square < sq(jumpLeast) || scatter > sq(jumpUneven)*square {
		return 0, false
	}
	times = along / square
	var aside float64
	for k := changeAcross; k < changeCount; k++ {
		aside += sq(list[t][k] - times*mean[k])
	}
	return times, aside < sq(jumpAside)*square
}

// blacks finds frames of an eye without a picture while the other eye has one.
func blacks(of, other []*Signature, slip int, right bool) []Hitch {
	var list []Hitch
	for t, s := range of {
		o := t + slip
		if o < 0 || o >= len(other) || s == nil || other[o] == nil || !s.black() || !other[o].pictured() {
			continue
		}
		if n := len(list); n > 0 && list[n-1].Frame+list[n-1].Count == t {
			list[n-1].Count++
			continue
		}
		list = append(list, Hitch{Right: right, Kind: Black, Frame: t, Count: 1})
	}
	return list
}

// black reports whether there is no picture, pictured that there certainly is
// one: what fades is neither.
func (s *Signature) black() bool {
	low, high := s.reach()
	return high < blackDark && high-low < blackFlat
}

func (s *Signature) pictured() bool {
	low, high := s.reach()
	return high-low > 4*blackFlat
}

// reach returns the darkest and the brightest cell.
func (s *Signature) reach() (low, high float32) {
	low, high = s.Luma[0][0], s.Luma[0][0]
	for j := range s.Luma {
		low, high = min(low, slices.Min(s.Luma[j][:])), max(high, slices.Max(s.Luma[j][:]))
	}
	return low, high
}

// dropRepeatsOfBlack leaves out repeats that are black frames.
func dropRepeatsOfBlack(list []Hitch) []Hitch {
	return slices.DeleteFunc(list, func(h Hitch) bool {
		return h.Kind == Repeated && slices.ContainsFunc(list, func(b Hitch) bool {
			return b.Kind == Black && b.Right == h.Right && h.Frame <= b.Frame+b.Count && b.Frame <= h.Frame+h.Count
		})
	})
}

// stepAt returns by how many frames the slip changes at a left frame, as the
// stretches before and after it show up to the next stumbles.
func stepAt(left, right course, slip int, places []int, at, count int) (step int, known bool) {
	from, to := between(len(left), places, at, count)
	before, ok := slipWithin(left, right, slip, from, at)
	if !ok {
		return 0, false
	}
	after, ok := slipWithin(left, right, slip, at+count, to)
	if !ok || math.Abs(after-before-math.Round(after-before)) > hitchWhole {
		return 0, false
	}
	return int(math.Round(after - before)), true
}

// slipWithin returns by how much the slip of the left frames from … to−1 differs
// from the one given.
func slipWithin(left, right course, slip, from, to int) (float64, bool) {
	if to-from < hitchLeast {
		return 0, false
	}
	from++ // the change to the first frame is not one of theirs
	for _, reach := range []int{hitchReach, hitchFar} {
		r := make(course, to-from)
		for i := range r {
			if j := from + i + slip; j >= 0 && j < len(right) {
				r[i] = right[j]
			}
		}
		if s := newSlipSearch(left[from:to], r, reach).slip(false); s.OK() && s.SE < hitchSE {
			return s.Value, true
		}
	}
	return 0, false
}
