package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"sync"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"nightpair/cmd/internal/demo"
)

func (a *app) demo() *cobra.Command {
	return &cobra.Command{
		Use:   "demo DIR",
		Short: "Write a small invented shooting day, faults included",
		Long: `Demo draws a few short stereo clips, some clean and some with one fault each, and
writes them into a folder as video files, to try nightpair check on.`,
		Example: "  nightpair demo demo-day\n  nightpair check demo-day",
		Args:    arguments(cobra.ExactArgs(1), "name the folder to write to"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := demo.Write(cmd.Context(), args[0], demo.Width, a.drawing(cmd.ErrOrStderr())); err != nil {
				return err
			}
			_, err := fmt.Fprintln(cmd.OutOrStdout(), printable(args[0]))
			return err
		},
	}
}

// drawing returns what shows how the drawing of the demo goes on. It may be
// called from many goroutines at once.
func (a *app) drawing(w io.Writer) func(done, total int) {
	show := a.drawingLine(w)
	var mu sync.Mutex
	shown := 0
	return func(done, total int) {
		mu.Lock()
		defer mu.Unlock()
		if done > shown {
			shown = done
			show(done, total)
		}
	}
}

func (a *app) drawingLine(w io.Writer) func(done, total int) {
	file, isFile := w.(*os.File)
	switch {
	case a.quiet:
		return func(int, int) {}
	case a.json:
		lines := json.NewEncoder(w)
		return func(done, total int) {
			lines.Encode(struct {
				Event string `json:"event"`
				Done  int    `json:"done"`
				Total int    `json:"total"`
			}{"drawn", done, total})
		}
	case isFile && term.IsTerminal(int(file.Fd())):
		return func(done, total int) {
			fmt.Fprintf(w, "%sdrawn %d of %d", eraseLine, done, total)
			if done == total {
				fmt.Fprint(w, eraseLine)
			}
		}
	}
	quarter := 0
	return func(done, total int) {
		for ; quarter < 4 && 4*done >= (quarter+1)*total; quarter++ {
			if 4*done < (quarter+2)*total {
				fmt.Fprintf(w, "nightpair: drawn %d of %d\n", done, total)
			}
		}
	}
}
