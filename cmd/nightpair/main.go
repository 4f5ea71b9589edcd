package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ends := []os.Signal{os.Interrupt, syscall.SIGTERM}
	// A terminal that is closed ends the night too, unless nohup forbids it.
	if !signal.Ignored(syscall.SIGHUP) {
		ends = append(ends, syscall.SIGHUP)
	}
	ctx, stop := signal.NotifyContext(context.Background(), ends...)
	// Whoever interrupts a second time is not kept waiting.
	context.AfterFunc(ctx, stop)
	os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
