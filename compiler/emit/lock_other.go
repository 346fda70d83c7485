//go:build !(linux || darwin || freebsd || netbsd || openbsd || dragonfly)

package emit

import (
	"errors"
	"io/fs"
	"os"
	"time"
)

// lock is a file beside the output that is there while a build runs.
type lock struct {
	path string
}

// staleLock is the age at which a lock is taken for that of a killed build.
const staleLock = time.Hour

// lockFile takes the lock or says errLocked.
func lockFile(path string) (*lock, error) {
	if st, err := os.Stat(path); err == nil && time.Since(st.ModTime()) > staleLock {
		_ = os.Remove(path)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil, errLocked
	case err != nil:
		return nil, err
	}
	return &lock{path}, f.Close()
}

// lockHint says what to do about the lock of a killed build.
func lockHint(path string) string { return ", or if none is running remove " + path }

func (l *lock) held() bool { return l != nil && l.path != "" }

func (l *lock) release() {
	if l.held() {
		_ = os.Remove(l.path)
		l.path = ""
	}
}
