//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package emit

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lock is a file beside the output that its holder has locked. The system lets
// go of it when the process ends, however it ends.
type lock struct {
	file *os.File
}

// lockFile takes the lock or says errLocked. On a file system without locks it
// gives one that isn't held.
func lockFile(path string) (*lock, error) {
	for {
		// A link would have a file made wherever it leads.
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|unix.O_NOFOLLOW, 0o666)
		if err != nil {
			return nil, err
		}
		switch err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB); {
		case errors.Is(err, unix.EWOULDBLOCK):
			_ = f.Close()
			return nil, errLocked
		case errors.Is(err, unix.EINTR):
			_ = f.Close()
			continue
		case err != nil:
			_ = f.Close()
			_ = os.Remove(path)
			return &lock{}, nil
		}
		// Its last holder may have removed it between the opening and the locking.
		mine, err := f.Stat()
		there, err2 := os.Stat(path)
		if err == nil && err2 == nil && os.SameFile(mine, there) {
			return &lock{f}, nil
		}
		_ = f.Close()
	}
}

// lockHint adds nothing: a lock without a build can't be.
func lockHint(string) string { return "" }

func (l *lock) held() bool { return l != nil && l.file != nil }

// release removes the file and lets go of it, in this order, so that nobody
// locks a file that is about to vanish.
func (l *lock) release() {
	if l.held() {
		_ = os.Remove(l.file.Name())
		_ = l.file.Close()
		l.file = nil
	}
}
