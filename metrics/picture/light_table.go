package picture

import (
	"math"
	"sync"

	"nightpair/metrics/stat"
)

// LightTable is Transfer.Light as a table, from black to a little above the largest
// signal of narrow-range video.
type LightTable [1 << 12]float64

// SignalTable is Transfer.Encode as a table, the inverse of a LightTable. Its steps are
// equal in the square root of the light, as curves are steep near black.
type SignalTable struct {
	table   [4097]float64
	perRoot float64 // steps per square root of the light
}

// lightTop is the largest signal in the tables: narrow range reaches 1.09 with all
// codes of 8 bits.
const lightTop = 1.15

// lightTables holds the tables of each curve, which are made when first asked for.
var lightTables [LogCurve + 1]struct {
	once  sync.Once
	table LightTable
	codes SignalTable
}

// LightTable returns the table from signal to light.
func (t Transfer) LightTable() *LightTable {
	t.makeTables()
	return &lightTables[t].table
}

// SignalTable returns the table from light to signal.
func (t Transfer) SignalTable() *SignalTable {
	t.makeTables()
	return &lightTables[t].codes
}

func (t Transfer) makeTables() {
	e := &lightTables[t]
	e.once.Do(func() {
		for i := range e.table {
			e.table[i] = t.Light(lightTop * float64(i) / float64(len(e.table)-1))
		}
		c := &e.codes
		c.perRoot = float64(len(c.table)-1) / math.Sqrt(t.Light(lightTop))
		for i := range c.table {
			c.table[i] = t.Encode(stat.Sq(float64(i) / c.perRoot))
		}
	})
}

// At returns the light of a signal, interpolated linearly, as a share of reference
// white. Signals below 0 and above the table are read as its ends.
func (t *LightTable) At(signal float64) float64 {
	x := min(max(signal/lightTop, 0), 1) * float64(len(t)-1)
	i := min(int(x), len(t)-2)
	return t[i] + (t[i+1]-t[i])*(x-float64(i))
}

// At returns the signal of a light, a share of reference white. Light below 0 is read as
// 0; light beyond the table continues its last step.
func (c *SignalTable) At(light float32) float32 {
	x := math.Sqrt(float64(max(light, 0))) * c.perRoot
	i := min(int(x), len(c.table)-2)
	return float32(c.table[i] + (c.table[i+1]-c.table[i])*(x-float64(i)))
}
