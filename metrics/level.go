package metrics

// quarter is the reduction of the raster that places are searched on.
const quarter = 4

// level is a raster with what searching needs of it.
type level struct {
	full, half, quarter *raster
	census              *census
	noise               *float64 // see grain
}

func newLevel(full *raster) *level {
	l := &level{full: full, half: full.halve()}
	l.quarter = l.half.halve()
	l.census = newCensus(l.quarter.smoothed())
	return l
}

// grain returns the standard deviation of the full raster's noise, worked out once.
func (l *level) grain() float64 {
	if l.noise == nil {
		noise := l.full.grain()
		l.noise = &noise
	}
	return *l.noise
}
