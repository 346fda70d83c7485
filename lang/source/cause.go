package source

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"
)

// Cause says in plain words what the operating system met, and what to do about it
// where that can be said.
func Cause(err error) string {
	for _, c := range []struct {
		err  error
		text string
	}{
		{syscall.ENOSPC, "the disk is full: make room, and try again"},
		{syscall.EDQUOT, "the space that you may use on the disk is full: make room, and try again"},
		{syscall.EROFS, "the disk is read-only"},
		{syscall.EFBIG, "it is larger than files may be here"},
		{syscall.EIO, "the disk fails"},
		{syscall.EMFILE, "too many files are open"},
		{syscall.ENFILE, "too many files are open on this machine"},
		{syscall.ENAMETOOLONG, "its name is too long for this disk"},
		{syscall.ENOTDIR, "a part of its path is a file, not a folder"},
		{syscall.EBUSY, "it is in use"},
		{fs.ErrPermission, "permission denied"},
		{fs.ErrExist, "something of that name is there"},
		{fs.ErrNotExist, "there is no such file or folder"},
	} {
		if errors.Is(err, c.err) {
			return c.text
		}
	}
	var le *os.LinkError
	var se *os.SyscallError
	switch {
	case errors.As(err, &le):
		return le.Err.Error()
	case errors.As(err, &se):
		return se.Err.Error()
	}
	return plain(err).Error()
}

// writeError is why a file isn't written.
type writeError struct {
	name string
	err  error
}

func (e *writeError) Error() string {
	return fmt.Sprintf("%s can't be written: %s", e.name, Cause(e.err))
}

// Unwrap gives the cause.
func (e *writeError) Unwrap() error { return e.err }

func cantWrite(name string, err error) error { return &writeError{name, err} }
