package judge

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
)

// LimitSet is a set of limits that is built in.
type LimitSet struct {
	Name string
	Doc  string // what it is for, in a sentence
	CSV  string // the limits file, with its comments, to be printed and edited
}

//go:embed limits/viewer.csv
var viewerCSV string

//go:embed limits/rig.csv
var rigCSV string

// LimitSets lists what is built in; the first is the one used when none is
// named. It is never changed.
var LimitSets = []LimitSet{
	{"viewer", "what an audience can bear: published limits for finished pictures", viewerCSV},
	{"rig", "what a crew can line up: tight limits for the geometry and exposure of a rig", rigCSV},
}

// LookupLimits finds a built-in set by its name.
func LookupLimits(name string) (LimitSet, bool) {
	i := slices.IndexFunc(LimitSets, func(s LimitSet) bool { return s.Name == name })
	if i < 0 {
		return LimitSet{}, false
	}
	return LimitSets[i], true
}

// Limits returns the limits of the set.
func (s LimitSet) Limits() Limits {
	limits, err := ParseLimits(strings.NewReader(s.CSV), s.Name)
	if err != nil {
		panic("judge: a built-in set of limits cannot be read: " + err.Error())
	}
	return limits
}

// OpenLimits returns the built-in set of that name or else the limits in the
// file of that path. An empty name is the first built-in set.
func OpenLimits(name string) (Limits, error) {
	if name == "" {
		return LimitSets[0].Limits(), nil
	}
	if set, ok := LookupLimits(name); ok {
		return set.Limits(), nil
	}
	f, err := os.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("no built-in set of limits and no file is named so: %w", err)
	}
	if err != nil {
		return nil, fmt.Errorf("read the limits: %w", err)
	}
	defer f.Close()
	return ParseLimits(f, name)
}
