//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package source

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// lockDraft takes the lock of a draft, which the system lets go of when the process
// ends, however it ends. The error is errHeld if someone has it, and
// errors.ErrUnsupported on a disk without locks.
func lockDraft(f *os.File) error {
	for {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case err == nil:
			return nil
		case errors.Is(err, syscall.EINTR):
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errHeld
		default:
			return errors.ErrUnsupported
		}
	}
}

// keepOwner gives a file the owner and the group of another. Only root may give
// files away, so it often stays the writer's.
func keepOwner(f *os.File, old fs.FileInfo) {
	st, err := f.Stat()
	if err != nil {
		return
	}
	is, ok := st.Sys().(*syscall.Stat_t)
	want, ok2 := old.Sys().(*syscall.Stat_t)
	if !ok || !ok2 || is.Uid == want.Uid && is.Gid == want.Gid {
		return
	}
	if f.Chown(int(want.Uid), int(want.Gid)) != nil {
		_ = f.Chown(-1, int(want.Gid))
	}
}
