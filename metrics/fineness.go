package metrics

// A blur widens edges. What the difference between neighbours is of that between places
// evenSteps apart tells so of a whole picture, whatever its contrast and wherever things
// stand in it: both eyes show nearly the same, and where one is far softer, its picture
// differs in this. The other picture is then blurred for finding places in both, until
// they are alike.
const (
	evenSteps = 4
	// evenLeast and evenMost are the blurs, in pixels of the quarter raster, from which
	// on the eyes are made alike, and which may be. What covers a third of one eye's
	// picture may look like 0.7.
	evenLeast = 0.75
	evenMost  = 4.0
)

// fineness returns the mean square of the differences between neighbours down a
// picture, as a share of that between places evenSteps apart: 1/evenSteps² where all is
// smooth to 1/evenSteps where edges are sharp, and 0 where nothing differs. It looks
// where that is more than usual.
func (r *raster) fineness() float64 {
	if r.height <= evenSteps {
		return 0
	}
	far := r.width * evenSteps
	usual := 0.0
	for i, v := range r.pix[far:] {
		usual += sq(float64(v - r.pix[i]))
	}
	usual /= float64(len(r.pix) - far)
	var near, all float64
	for i, v := range r.pix[far:] {
		d := sq(float64(v - r.pix[i]))
		if d <= usual {
			continue
		}
		all += d
		for k := range evenSteps {
			at := i + k*r.width
			near += sq(float64(r.pix[at+r.width] - r.pix[at]))
		}
	}
	if all == 0 {
		return 0
	}
	return near / evenSteps / all
}

// softerThan returns by how many of its pixels one raster is softer than another, as
// the whole of them looks; negative where the other is, and 0 below evenLeast.
func (r *raster) softerThan(other *raster) float64 {
	a, b := r.fineness(), other.fineness()
	if !(a > 0 && b > 0) {
		return 0
	}
	if a > b {
		return -other.softerThan(r)
	}
	if other.softened(evenLeast).fineness() <= a {
		return 0
	}
	low, high := 0.0, evenMost
	for range 8 {
		sigma := (low + high) / 2
		if other.softened(sigma).fineness() > a {
			low = sigma
		} else {
			high = sigma
		}
	}
	return (low + high) / 2
}
