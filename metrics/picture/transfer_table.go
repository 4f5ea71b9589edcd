package picture

import (
	"math"
	"sync"

	"nightpair/metrics/stat"
)

// lightTable is light by signal, from black to lightTop.
type LightTable [1 << 12]float64

const lightTop = 1.15 // narrow range goes to 1.09

// lightCodes is the inverse of a lightTable, over the root of the light.
type SignalTable struct {
	table [4097]float64
	root  float64 // steps per root of the light
}

// lightTables holds the tables of each curve, worked out when they are first needed.
var lightTables [LogCurve + 1]struct {
	once  sync.Once
	table LightTable
	codes SignalTable
}

func (t Transfer) Table() *LightTable {
	table, _ := t.Tables()
	return table
}

func (t Transfer) Tables() (*LightTable, *SignalTable) {
	e := &lightTables[t]
	e.once.Do(func() {
		for i := range e.table {
			e.table[i] = t.Light(lightTop * float64(i) / float64(len(e.table)-1))
		}
		c := &e.codes
		c.root = float64(len(c.table)-1) / math.Sqrt(t.Light(lightTop))
		for i := range c.table {
			c.table[i] = t.Encode(stat.Sq(float64(i) / c.root))
		}
	})
	return &e.table, &e.codes
}

func (t *LightTable) At(signal float64) float64 {
	x := min(max(signal/lightTop, 0), 1) * float64(len(t)-1)
	i := min(int(x), len(t)-2)
	return t[i] + (t[i+1]-t[i])*(x-float64(i))
}

func (c *SignalTable) At(light float32) float32 {
	x := math.Sqrt(float64(max(light, 0))) * c.root
	i := min(int(x), len(c.table)-2)
	return float32(c.table[i] + (c.table[i+1]-c.table[i])*(x-float64(i)))
}
