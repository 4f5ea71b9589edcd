package coarse_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
)

// A record keeps what is not known as null.
func TestSeriesAsJSON(t *testing.T) {
	s := &coarse.Series{First: 7}
	s.Add(coarse.Reading{Offset: 1.23456, OffsetSE: 0.01, Roll: -0.5, RollSE: 0.02, Zoom: 2, ZoomSE: 0.1, Places: 50})
	s.Add(coarse.Reading{})
	text, err := json.Marshal(s)
	require.NoError(t, err)
	require.Contains(t, string(text), `"vertical_offset":{"value":[1.2346,null],"se":[0.01,null]}`)
	require.Contains(t, string(text), `"exposure":{"value":[null,null],"se":[null,null]}`)
	var back coarse.Series
	require.NoError(t, json.Unmarshal(text, &back))
	require.Equal(t, 7, back.First)
	require.Equal(t, 2, back.Len())
	require.InDelta(t, 1.2346, back.Offset.Value[0], 1e-12)
	require.True(t, math.IsNaN(back.Roll.Value[1]))
}
