package reports

import (
	"fmt"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/pull"
)

// pullTable tells how the convergence follows a focus pull.
type pullTable struct {
	Axes    string // which eye's axis converges; empty where that cannot be told
	Figures []figure
}

// pull lays out the focus pull in a clip, nil where there is none.
func (c *clip) pull() *pullTable {
	p, reason := pull.FindFocus(*c.Record)
	if reason != "" {
		return nil
	}
	width := metrics.Metric{Unit: "% of picture width", Decimals: 2, Swap: metrics.SwapNegate}
	share := metrics.Metric{Unit: "%", Swap: metrics.SwapKeep}
	named := func(title string, m metrics.Metric, v stat.Measurement) figure {
		f := c.figure(m, v)
		f.Title = title
		return f
	}
	percent := func(v stat.Measurement) stat.Measurement {
		if !v.OK() {
			return v
		}
		return stat.Measured(100*v.Value, 100*v.SE)
	}
	return &pullTable{Axes: judge.AxesPhrase(p), Figures: []figure{
		{Title: "The focus moves, as parallax, by", Value: number.Plain(p.Travel, 2), Unit: width.Unit, Pixels: fmt.Sprintf("%s\u00a0px", number.Plain(p.Travel/100*float64(c.Header.EyeWidth), 1))},
		named("Parallax of what is in focus, over the pull", width, p.Offset),
		named("The convergence follows that travel by", share, percent(p.Follows)),
		named("The convergence is late by", metrics.Metric{Unit: "frames", Decimals: 1, Swap: metrics.SwapNegate}, p.Lag),
		named("The right camera contributes to the convergence", share, percent(p.Right)),
	}}
}
