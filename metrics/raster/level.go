package raster

// Quarter is the reduction of the raster that places are searched on.
const Quarter = 4

// Level is a raster with what searching needs of it.
type Level struct {
	Full, Half, Quarter *Raster
	Census              *Census
	estimate            *float64 // see grain
}

func NewLevel(full *Raster) *Level {
	l := &Level{Full: full, Half: full.Halve()}
	l.Quarter = l.Half.Halve()
	l.Census = NewCensus(l.Quarter.Smoothed())
	return l
}

// Noise returns the standard deviation of the full raster's noise, worked out once.
func (l *Level) Noise() float64 {
	if l.estimate == nil {
		noise := l.Full.noise()
		l.estimate = &noise
	}
	return *l.estimate
}
