package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"nightpair/qc/pairing"
	"nightpair/qc/record"
)

func (a *app) pairs() *cobra.Command {
	var out, write string
	var searching searching
	cmd := &cobra.Command{
		Use:   "pairs [FOLDER|FILE...]",
		Short: "Show what would be paired with what, and why",
		Long: `Pairs shows what check would measure, and measures nothing.

Files are paired by marks in their names (A001_L.mov and A001_R.mov), or by
folders named for the eyes (LEFT/A001.mov and RIGHT/A001.mov). What then is left
on the cards of two cameras is paired by when it was taken: by timecode, by
creation time, whatever the difference of the cameras' clocks, and by length, in
the order in which it was shot. Where that leaves takes open, their sound is
compared and then their light and motion. What is not sure is not paired, but
listed with the line for ` + pairing.ManifestName + ` that would settle it. Chapters of a long
take are paired one by one. Small copies of other files are set aside.

Which eye a card is of is said by --left and --right, by the names of folders and
reels, or by a file ` + pairing.RigsName + ` in a folder of the footage, with the columns camera,
eye and, where wanted, rig, focal_mm, sensor_width_mm and interaxial_mm; camera
is a serial, a name or a folder.

A file ` + pairing.ManifestName + ` in a folder of the footage, or another CSV file given as an
argument, with the columns left, right and, where wanted, packing and name,
overrides everything for the files that it names. --write writes one to edit.

The exit code is 3 when some files cannot be measured as they are.`,
		Example: `  nightpair pairs --left /media/A001 --right /media/B001
  nightpair pairs /media/day12 --write pairs.csv`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := searching.some(cmd, args, "nothing to look at: name a folder or files"); err != nil {
				return err
			}
			child, err := child()
			if err != nil {
				return err
			}
			lister := lister{w: cmd.OutOrStdout(), json: a.json}
			clips, err := a.search(cmd, searching, out, child, args, lister.setAside)
			if err != nil {
				return err
			}
			if write != "" {
				if err := writePairs(write, clips); err != nil {
					return err
				}
			}
			for _, clip := range clips {
				if clip.Problem != "" {
					a.code = exitUnmeasured
				}
				if err := lister.clip(clip); err != nil {
					return err
				}
			}
			return lister.close()
		},
	}
	cmd.Flags().StringVar(&out, "out", defaultOut, "pass over `DIR`, which holds a report")
	cmd.Flags().StringVar(&write, "write", "", "write what was found as a "+pairing.ManifestName+" to edit, to the new `FILE`")
	searching.add(cmd)
	return cmd
}

// writePairs writes clips as a manifest, and no file that is there over.
func writePairs(path string, clips []record.Clip) (err error) {
	folder, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return hinted(fmt.Errorf("%s is there already", path), "it may have been edited: name another file")
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return pairing.WriteManifest(f, folder, clips)
}

// lister writes what was found, for people or as JSON lines.
type lister struct {
	w     io.Writer
	json  bool
	aside [][2]string
}

func (l *lister) setAside(path, of string) { l.aside = append(l.aside, [2]string{path, of}) }

func (l *lister) clip(clip record.Clip) error {
	if l.json {
		return record.WriteLine(l.w, clip)
	}
	return listClip(l.w, clip)
}

// close tells what was set aside.
func (l *lister) close() error {
	if l.json {
		for _, a := range l.aside {
			line := struct {
				Aside string `json:"aside"`
				Of    string `json:"copy_of"`
			}{a[0], a[1]}
			if err := record.WriteLine(l.w, line); err != nil {
				return err
			}
		}
		return nil
	}
	if len(l.aside) == 0 {
		return nil
	}
	_, err := fmt.Fprintf(l.w, "set aside as small copies of other files: %d, such as %s\n", len(l.aside), printable(l.aside[0][0]))
	return err
}

func listClip(w io.Writer, clip record.Clip) error {
	lines := []string{clip.Name}
	switch {
	case clip.Packing.OneFile() && clip.Left != "":
		lines = append(lines, "  both   "+clip.Left+" ("+string(clip.Packing)+")")
	default:
		if clip.Left != "" {
			lines = append(lines, "  left   "+clip.Left)
		}
		if clip.Right != "" {
			lines = append(lines, "  right  "+clip.Right)
		}
	}
	if clip.Problem != "" {
		lines = append(lines, "  not measurable: "+clip.Problem)
	} else {
		lines = append(lines, "  because of "+clip.Why)
	}
	for i := range lines {
		lines[i] = printable(lines[i])
	}
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}
