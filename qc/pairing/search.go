package pairing

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// Search says how files are put together to clips. The zero value goes by the
// files' names alone.
type Search struct {
	// Packing says what every file holds that no manifest names. Empty: files
	// with a mate hold one eye each, single ones what their names or tags say.
	// Separate: one eye each, whatever names and tags say. One of both eyes in one
	// file: so, and no mates are looked for.
	Packing record.Packing
	// Ask asks files what they say of themselves. It, and what follows, may be nil.
	Ask func(paths []string) (map[string]Told, error)
	// Listen and Watch ask files what they show. Files without an answer are left out.
	Listen, Watch func(paths []string) (map[string]takes.Shown, error)
	// Aside is told of each file that is set aside as a small copy of another.
	Aside func(path, of string)
	// Left and Right are folders of one eye, which are searched too: what lies in them is
	// paired by when it was taken, and by names only if all names are the same in both.
	Left, Right []string
	// Skip names folders that are not looked into, as the one of the reports.
	Skip []string
}

// Clips pairs what is in the given folders, looking into the folders in them
// too, and the given files. Manifests are heeded wherever one is found. Hidden
// files and folders, files that are neither video nor picture, and reports of
// earlier nights are passed over. A path that does not exist or a manifest
// that cannot be read is an error; a folder within that cannot be read is a
// clip with a Problem.
func (p Search) Clips(paths ...string) ([]record.Clip, error) {
	w := walk{visited: map[string]bool{}, skip: map[string]bool{}}
	for _, folder := range p.Skip {
		w.skip[realPath(folder)] = true
	}
	for _, cards := range []struct {
		eye   side
		paths []string
	}{{leftSide, p.Left}, {rightSide, p.Right}} {
		for _, path := range cards.paths {
			from := len(w.files)
			path = filepath.Clean(path)
			info, err := os.Stat(path)
			if err != nil {
				return nil, fmt.Errorf("search for clips: %w", err)
			}
			if !info.IsDir() {
				return nil, fmt.Errorf("search for clips: %s is not a folder", path)
			}
			if w.visited[realPath(path)] {
				return nil, fmt.Errorf("search for clips: %s is named for both eyes, or twice", path)
			}
			w.folder(path, path)
			for i := range w.files[from:] {
				w.files[from+i].flagged = cards.eye
			}
		}
	}
	paths = slices.Clone(paths)
	for i := range paths {
		paths[i] = filepath.Clean(paths[i])
	}
	// The order decides by which way a folder is found that can be reached twice.
	slices.Sort(paths)
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			return nil, fmt.Errorf("search for clips: %w", err)
		}
		switch {
		case info.IsDir():
			w.folder(path, path)
		case info.Mode().IsRegular() && strings.EqualFold(filepath.Ext(path), filepath.Ext(ManifestName)):
			w.manifests = append(w.manifests, path)
		case info.Mode().IsRegular():
			w.files = append(w.files, file{path: path, id: fileID(path), root: filepath.Dir(path), chosen: true})
		default:
			return nil, fmt.Errorf("search for clips: %s is neither a file nor a folder", path)
		}
	}
	var manifests []manifest
	var problems []error
	for _, path := range w.manifests {
		m, err := readManifest(path)
		problems = append(problems, err)
		manifests = append(manifests, m)
	}
	var rigs []rigCamera
	for _, path := range w.rigs {
		r, err := readRigs(path)
		problems = append(problems, err)
		rigs = append(rigs, r...)
	}
	if err := errors.Join(problems...); err != nil {
		return nil, err
	}
	w.listed(manifests)
	clips, err := p.pair(w.files, manifests, rigs, fileID)
	if err != nil {
		return nil, err
	}
	if len(w.unread) > 0 {
		drafts := w.unread
		for _, c := range clips {
			drafts = append(drafts, draft{Clip: c, names: []string{c.Name}})
		}
		clips = named(drafts)
	}
	return clips, nil
}

func readManifest(path string) (manifest, error) {
	f, err := os.Open(path)
	if err != nil {
		return manifest{}, fmt.Errorf("read the list of pairs: %w", err)
	}
	defer f.Close()
	return parseManifest(f, path)
}

// walk is a search under way.
type walk struct {
	visited   map[string]bool // folders, by their real paths
	skip      map[string]bool
	files     []file
	manifests []string
	rigs      []string
	unread    []draft
}

func (w *walk) folder(folder, root string) {
	real := realPath(folder)
	if w.visited[real] || w.skip[real] {
		return
	}
	w.visited[real] = true
	entries, err := os.ReadDir(folder)
	if err != nil {
		if pathErr, ok := errors.AsType[*fs.PathError](err); ok {
			err = pathErr.Err
		}
		name := element{file: file{path: folder, root: root}}
		d := name.orphan("the folder cannot be read: " + err.Error())
		w.unread = append(w.unread, d)
		return
	}
	if isReport(entries) {
		return
	}
	for _, e := range entries {
		path := filepath.Join(folder, e.Name())
		if strings.HasPrefix(e.Name(), ".") || systemFolders[e.Name()] {
			continue
		}
		mode := e.Type()
		if mode&fs.ModeSymlink != 0 {
			info, err := os.Stat(path)
			if err != nil {
				// A dead link is a file that has vanished: opening it will say so.
				mode = 0
			} else {
				mode = info.Mode().Type()
			}
		}
		switch {
		case mode.IsDir():
			w.folder(path, root)
		case !mode.IsRegular():
		case strings.EqualFold(e.Name(), ManifestName):
			w.manifests = append(w.manifests, path)
		case strings.EqualFold(e.Name(), RigsName):
			w.rigs = append(w.rigs, path)
		default:
			w.files = append(w.files, file{path: path, id: filepath.Join(real, e.Name()), root: root})
		}
	}
}

// systemFolders hold what operating systems and network drives keep for
// themselves.
var systemFolders = map[string]bool{
	"__MACOSX": true, "$RECYCLE.BIN": true, "System Volume Information": true,
	"@eaDir": true, "lost+found": true,
}

// isReport reports whether a folder is one that a night was reported to.
func isReport(entries []os.DirEntry) bool {
	has := func(name string, dir bool) bool {
		return slices.ContainsFunc(entries, func(e os.DirEntry) bool { return e.Name() == name && e.IsDir() == dir })
	}
	return has("records", true) && has("findings.csv", false) && has("clips.csv", false)
}

// listed adds the files that manifests name outside of what was searched.
func (w *walk) listed(manifests []manifest) {
	for _, m := range manifests {
		for _, row := range m.Rows {
			for _, path := range []string{row.Left, row.Right} {
				folder := filepath.Dir(path)
				real := realPath(folder)
				if path == "" || w.visited[real] {
					continue
				}
				entries, err := os.ReadDir(folder)
				if err != nil {
					continue // the row's file will be found missing
				}
				w.visited[real] = true
				for _, e := range entries {
					if !e.IsDir() {
						w.files = append(w.files, file{
							path: filepath.Join(folder, e.Name()), id: filepath.Join(real, e.Name()),
							root: folder, listed: true,
						})
					}
				}
			}
		}
	}
}

// fileID returns the path of a file with its folder's links resolved.
func fileID(path string) string {
	return filepath.Join(realPath(filepath.Dir(path)), filepath.Base(path))
}

// realPath returns the absolute path of a folder with links resolved, as far
// as that is possible.
func realPath(folder string) string {
	if abs, err := filepath.Abs(folder); err == nil {
		folder = abs
	}
	if real, err := filepath.EvalSymlinks(folder); err == nil {
		return real
	}
	return folder
}
