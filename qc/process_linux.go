package qc

import (
	"errors"
	"os"
	"os/exec"
	"syscall"
)

// isolate has a process start in a group of its own, so that it and whatever
// it starts can be ended together and signals from the terminal reach only us.
// It dies when the thread that starts it does: that thread must live on until
// the process has ended.
func isolate(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGKILL}
}

// killGroup ends a process that was isolated, with its group.
func killGroup(p *os.Process) {
	syscall.Kill(-p.Pid, syscall.SIGKILL)
}

// lockFile holds a file until it is closed. It returns ErrBusy when another
// process holds it.
func lockFile(f *os.File) error {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return ErrBusy
	}
	return err
}

// syncFolder makes a renamed file's new name safe on the disk. File systems
// that cannot do that for folders do it by themselves.
func syncFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	defer folder.Close()
	if err := folder.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}
