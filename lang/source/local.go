package source

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// ReadLocal reads a file that somebody names on a command line: a plain one, and
// no longer than a text may be. The error is worded for a tuner.
func ReadLocal(name string) ([]byte, error) {
	// Looked at before it is opened: opening a pipe would wait for its writer.
	st, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no file %s", name)
	case err != nil:
		return nil, fmt.Errorf("%s can't be read: %v", name, plain(err))
	case !st.Mode().IsRegular():
		return nil, fmt.Errorf("%s is not a plain file", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("%s can't be read: %v", name, plain(err))
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, MaxFile+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s can't be read: %v", name, plain(err))
	case len(b) > MaxFile:
		return nil, fmt.Errorf("%s has over %d bytes, the most that is read", name, MaxFile)
	}
	return b, nil
}
