package emit

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
)

// Error says for people why an output couldn't be written. Whatever it says, the
// output is as it was.
type Error struct {
	Path    string // the file or folder, as the caller would name it
	Problem string
	Err     error // the cause, if the operating system gave one
}

// Error implements error.
func (e *Error) Error() string { return e.Path + " " + e.Problem }

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// ErrStopped says that the caller stopped the build.
var ErrStopped = errors.New("stopped; the output is as it was")

// cant words an error of the operating system: "out/fuel.csv can't be written:
// the disk is full".
func cant(path, verb string, err error) *Error {
	return &Error{Path: path, Problem: fmt.Sprintf("can't be %s: %s", verb, cause(err)), Err: err}
}

// cause says in plain words what the operating system met.
func cause(err error) string {
	for _, c := range []struct {
		err  error
		text string
	}{
		{syscall.ENOSPC, "the disk is full"},
		{syscall.EDQUOT, "the space that you may use on the disk is full"},
		{syscall.EROFS, "the disk is read-only"},
		{syscall.EFBIG, "it is larger than files may be here"},
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
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}
