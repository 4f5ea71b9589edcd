package raster

// Quarter is the reduction of the raster that places are searched on.
const Quarter = 4

// Level is a raster with what searching needs of it.
type Pyramid struct {
	Full, Half, Quarter *Raster
	Census              *Census
	noise               *float64 // see grain
}

func NewPyramid(full *Raster) *Pyramid {
	l := &Pyramid{Full: full, Half: full.Halve()}
	l.Quarter = l.Half.Halve()
	l.Census = NewCensus(l.Quarter.Smoothed())
	return l
}

// Noise returns the standard deviation of the full raster's noise, worked out once.
func (l *Pyramid) Noise() float64 {
	if l.noise == nil {
		noise := l.Full.estimateNoise()
		l.noise = &noise
	}
	return *l.noise
}
