package raster

// Quarter is how many pixels of the full raster make one of the quarter raster.
const Quarter = 4

// Pyramid is a raster at three sizes, with what searching for places needs.
type Pyramid struct {
	Full, Half, Quarter *Raster
	Census              *Census  // of the quarter raster, smoothed
	noise               *float64 // see Noise
}

// NewPyramid returns the pyramid of a full raster.
func NewPyramid(full *Raster) *Pyramid {
	l := &Pyramid{Full: full, Half: full.Halve()}
	l.Quarter = l.Half.Halve()
	l.Census = NewCensus(l.Quarter.Smoothed())
	return l
}

// Noise returns the standard deviation of the noise of the full raster's pixels, in its
// values. It is estimated once.
func (l *Pyramid) Noise() float64 {
	if l.noise == nil {
		noise := l.Full.estimateNoise()
		l.noise = &noise
	}
	return *l.noise
}
