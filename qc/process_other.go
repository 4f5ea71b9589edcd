//go:build !linux

package qc

import (
	"os"
	"os/exec"
)

// Away from Linux a child ends with its parent when it next writes to the
// closed pipe, and two processes are not kept from the same report.

func isolate(*exec.Cmd) {}

func killGroup(p *os.Process) { p.Kill() }

func lockFile(*os.File) error { return nil }

func syncFolder(string) error { return nil }
