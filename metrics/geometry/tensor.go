package geometry

// tensor is a symmetric 2×2 matrix over the plane of the picture.
type tensor struct{ xx, xy, yy float64 }

// inverted returns the inverse; not ok where the tensor is not positive definite or nearly
// singular.
func (t tensor) inverted() (inverse tensor, ok bool) {
	det := t.xx*t.yy - t.xy*t.xy
	if !(t.xx > 0 && t.yy > 0 && det > 1e-6*(t.xx+t.yy)*(t.xx+t.yy)) {
		return tensor{}, false
	}
	return tensor{t.yy / det, -t.xy / det, t.xx / det}, true
}

// along returns the quadratic form of the tensor for a vector.
func (t tensor) along(x, y float64) float64 { return t.xx*x*x + 2*t.xy*x*y + t.yy*y*y }

// apply returns the tensor's product with a vector.
func (t tensor) apply(x, y float64) (ax, ay float64) {
	return t.xx*x + t.xy*y, t.xy*x + t.yy*y
}
