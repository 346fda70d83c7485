package emit

import (
	"errors"
	"fmt"

	"fettle/lang/source"
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
// permission denied".
func cant(path, verb string, err error) *Error {
	return &Error{Path: path, Problem: fmt.Sprintf("can't be %s: %s", verb, source.Cause(err)), Err: err}
}
