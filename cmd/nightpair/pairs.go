package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"nightpair/qc/pairing"
	"nightpair/qc/record"
)

func (a *app) pairs() *cobra.Command {
	var out string
	var searching searching
	cmd := &cobra.Command{
		Use:   "pairs FOLDER|FILE...",
		Short: "Show what would be paired with what, and why",
		Long: `Pairs shows what check would measure, and measures nothing. Files are paired by
marks in their names (A001_L.mov and A001_R.mov), by folders named for the eyes
(LEFT/A001.mov and RIGHT/A001.mov), or by a file ` + pairing.ManifestName + ` in their folder with the
columns left, right and, where wanted, packing and name, which overrides names.

The exit code is 3 when some files cannot be measured as they are.`,
		Example: "  nightpair pairs /media/day12",
		Args:    arguments(cobra.MinimumNArgs(1), "nothing to look at: name a folder or files"),
		RunE: func(cmd *cobra.Command, args []string) error {
			packing, err := searching.parse(cmd)
			if err != nil {
				return err
			}
			child, err := child()
			if err != nil {
				return err
			}
			clips, err := search(cmd.Context(), packing, out, child, args)
			if err != nil {
				return err
			}
			for _, clip := range clips {
				if clip.Problem != "" {
					a.code = exitUnmeasured
				}
				if err := listClip(cmd.OutOrStdout(), clip); err != nil {
					return err
				}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&out, "out", defaultOut, "pass over `DIR`, which holds a report")
	searching.add(cmd)
	return cmd
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
