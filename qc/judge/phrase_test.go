package judge

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
)

// Whatever can be judged has a phrase, and every phrase is about something that can be.
func TestEveryJudgedNameHasAPhrase(t *testing.T) {
	known := map[string]bool{orientationName: true, eyeOrderName: true, slipName: true}
	for _, s := range Statistics {
		for _, name := range s.Names() {
			known[name] = true
		}
	}
	for _, set := range LimitSets {
		for _, name := range metricsOf(set.Limits()) {
			require.True(t, known[name], "%s of the limits %s", name, set.Name)
		}
	}
	for name := range known {
		require.Contains(t, phrases, name)
	}
	for name, p := range phrases {
		require.True(t, known[name], name)
		require.True(t, p.positive != "" || p.say != nil, name)
		for _, text := range []string{p.positive, p.negative} {
			require.LessOrEqual(t, strings.Count(text, "%s"), 1, name)
			require.False(t, strings.HasSuffix(text, "."), name)
		}
		if p.advice != "" {
			require.Regexp(t, `^[A-Z][^.]*\.$`, p.advice, "%s: one sentence", name)
		}
	}
}

// A statistic is told of a clip or of a day, and says all that judging asks of it.
func TestStatistics(t *testing.T) {
	for _, s := range Statistics {
		found, ok := lookupStatistic(s.Name)
		require.True(t, ok, s.Name)
		require.Same(t, s, found)
		require.NotEmpty(t, s.Names(), s.Name)
		if s.Scope == OfClip {
			require.NotNil(t, s.value, s.Name)
			require.NotNil(t, s.place, s.Name)
			require.Nil(t, s.readings, s.Name)
			continue
		}
		require.NotNil(t, s.readings, s.Name)
		require.False(t, s.Of(record.Record{}, s.Names()[0]).OK(), s.Name)
	}
	_, ok := lookupStatistic("mean")
	require.False(t, ok)
	require.Empty(t, (*Statistic)(nil).String())
}
