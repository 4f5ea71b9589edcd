// Nightpair checks a shooting day's stereo footage overnight: it pairs the
// left- and right-eye clips, measures how the two eyes differ, judges the
// figures against limits and leaves a report by morning.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	// Whoever interrupts a second time is not kept waiting.
	context.AfterFunc(ctx, stop)
	os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
