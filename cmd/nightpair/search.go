package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"nightpair/qc"
	"nightpair/qc/measure"
	"nightpair/qc/pairing"
	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// searching are the flags that say where clips are and how they are put together.
type searching struct {
	packing     string
	left, right []string
}

func (s *searching) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&s.packing, "packing", "", "take every file that "+pairing.ManifestName+
		" does not name as `HOW`: "+record.PackingNames("-")+" (default: by names and tags)")
	flags.StringArrayVar(&s.left, "left", nil, "`DIR` is a card of the left camera; may be given several times")
	flags.StringArrayVar(&s.right, "right", nil, "`DIR` is a card of the right camera; may be given several times")
}

// paths returns all that is searched: arguments and cards.
func (s *searching) paths(args []string) []string { return slices.Concat(args, s.left, s.right) }

// some refuses a command line that names nothing to search.
func (s *searching) some(cmd *cobra.Command, args []string, what string) error {
	if len(s.paths(args)) == 0 {
		return usage(cmd, errors.New(what))
	}
	return nil
}

func (s *searching) parse(cmd *cobra.Command) (record.Packing, error) {
	if slices.Contains(s.left, "") || slices.Contains(s.right, "") {
		return "", usage(cmd, errors.New("--left or --right is empty"))
	}
	if s.packing == "" {
		return "", nil
	}
	packing, err := record.ParsePacking(s.packing)
	if err != nil {
		return "", usage(cmd, err)
	}
	return packing, nil
}

// search finds the clips, and is an error when there is none. Aside is told of files that
// are set aside; it may be nil.
func (a *app) search(cmd *cobra.Command, s searching, out string, child qc.Child, args []string, aside func(path, of string)) ([]record.Clip, error) {
	packing, err := s.parse(cmd)
	if err != nil {
		return nil, err
	}
	all := s.paths(args)
	if slices.ContainsFunc(all, func(path string) bool { return sameFolder(path, out) }) {
		return nil, hinted(fmt.Errorf("%s holds the footage: the report needs a folder of its own", out), "name another one with --out")
	}
	ctx := cmd.Context()
	looking := a.looking(cmd.ErrOrStderr())
	defer looking.close()
	asker := asker{ctx, child, looking}
	pairing := pairing.Search{
		Packing: packing, Left: s.left, Right: s.right, Skip: []string{out}, Aside: aside,
		Ask:    asker.tags,
		Listen: func(paths []string) (map[string]takes.Shown, error) { return asker.shown(measure.AskSound, paths) },
		Watch:  func(paths []string) (map[string]takes.Shown, error) { return asker.shown(measure.AskPictures, paths) },
	}
	clips, err := pairing.Clips(args...)
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	if len(clips) == 0 {
		return nil, hinted(errors.New("no clips found in "+strings.Join(all, ", ")),
			"clips are video files, or numbered pictures, for the left and the right eye")
	}
	return clips, nil
}

// asker asks files in child processes.
type asker struct {
	ctx     context.Context
	child   qc.Child
	looking *looking
}

func (a asker) tags(paths []string) (map[string]pairing.Told, error) {
	told := map[string]pairing.Told{}
	child := a.child
	child.Silence = time.Minute // a header is read in milliseconds, if at all
	err := child.Ask(a.ctx, measure.AskTags, paths, func(path string, reply measure.Reply) {
		told[path] = pairing.Told{Source: reply.Source, Problem: reply.Problem}
		a.looking.show(measure.AskTags, len(told), len(paths))
	})
	return told, err
}

func (a asker) shown(question measure.Question, paths []string) (map[string]takes.Shown, error) {
	shown := map[string]takes.Shown{}
	err := a.child.Ask(a.ctx, question, paths, func(path string, reply measure.Reply) {
		shown[path] = reply.Shown
		a.looking.show(question, len(shown), len(paths))
	})
	return shown, err
}

func sameFolder(path, other string) bool {
	info, err := os.Stat(path)
	if err != nil {
		return false
	}
	otherInfo, err := os.Stat(other)
	return err == nil && os.SameFile(info, otherInfo)
}
