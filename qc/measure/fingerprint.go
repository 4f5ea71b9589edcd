package measure

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/qc/record"
)

// measureRevision is raised whenever records come out differently for another
// reason than a metric's: the plan's order, the setup, the form of a record.
const measureRevision = 13

// FilesFunc lists the files behind a path of a clip, as its OpenFunc takes it: the
// file itself, or the pictures of a sequence in the order of their numbers.
type FilesFunc func(path string) ([]string, error)

// Fingerprint covers all that a record depends on. Two equal fingerprints mean
// that measuring again would give the same figures. It is an error when a file
// of the clip is not there.
func Fingerprint(clip record.Clip, list FilesFunc, plan Plan, mirrored record.Mirrored, all []metrics.Metric) (string, error) {
	type file struct {
		Path     string
		Size     int64
		Modified int64 // nanoseconds since 1970
	}
	type revision struct {
		Metric   string
		Revision int
	}
	covered := struct {
		Measure   int
		Packing   record.Packing
		Problem   string
		Left      []file
		Right     []file
		Samples   int
		Mirrored  record.Mirrored
		Coarse    int
		Revisions []revision
	}{
		Measure: measureRevision, Coarse: coarse.Revision, Packing: clip.Packing, Problem: clip.Problem,
		Samples: plan.Count(), Mirrored: mirrored,
	}
	for _, metric := range all {
		covered.Revisions = append(covered.Revisions, revision{metric.Name, metric.Revision})
	}
	stat := func(path string) ([]file, error) {
		if path == "" {
			return nil, nil
		}
		paths, err := list(path)
		if err != nil {
			return nil, err
		}
		var files []file
		for _, p := range paths {
			info, err := os.Stat(p)
			if err != nil {
				return nil, err
			}
			if p, err = filepath.Abs(p); err != nil {
				return nil, err
			}
			files = append(files, file{p, info.Size(), info.ModTime().UnixNano()})
		}
		return files, nil
	}
	var err error
	if covered.Left, err = stat(clip.Left); err != nil {
		return "", err
	}
	if covered.Right, err = stat(clip.Right); err != nil {
		return "", err
	}
	text, err := json.Marshal(covered)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:16]), nil
}
