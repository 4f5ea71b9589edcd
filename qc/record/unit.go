package record

// ParallaxUnit is the unit of the metrics whose limits may be in arcmin or mm.
const ParallaxUnit = "% of picture width"
