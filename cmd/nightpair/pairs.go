package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"nightpair/qc"
)

func (a *app) pairs() *cobra.Command {
	var out string
	var searching searching
	cmd := &cobra.Command{
		Use:   "pairs FOLDER|FILE...",
		Short: "Show what would be paired with what, and why",
		Long: `Pairs shows what check would measure, and measures nothing. Files are paired by
marks in their names (A001_L.mov and A001_R.mov), by folders named for the eyes
(LEFT/A001.mov and RIGHT/A001.mov), or by a file ` + qc.ManifestName + ` in their folder with the
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
	cmd.Flags().StringVar(&out, "out", defaultOut, "folder of a report, which is not looked into")
	searching.add(cmd)
	return cmd
}

func listClip(w io.Writer, clip qc.Clip) error {
	text := clip.Name + "\n"
	switch {
	case clip.Packing != qc.Separate && clip.Left != "":
		text += "  both   " + clip.Left + " (" + string(clip.Packing) + ")\n"
	default:
		if clip.Left != "" {
			text += "  left   " + clip.Left + "\n"
		}
		if clip.Right != "" {
			text += "  right  " + clip.Right + "\n"
		}
	}
	if clip.Problem != "" {
		text += "  not measurable: " + clip.Problem + "\n"
	} else {
		text += "  because of " + clip.Why + "\n"
	}
	_, err := fmt.Fprint(w, printable(text))
	return err
}
