package source

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
	"testing"
)

func TestCauses(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{&fs.PathError{Op: "open", Path: "x", Err: syscall.EACCES}, "permission denied"},
		{&fs.PathError{Op: "open", Path: "x", Err: syscall.EROFS}, "the disk is read-only"},
		{&os.LinkError{Op: "rename", Old: "a", New: "b", Err: syscall.EBUSY}, "it is in use"},
		{&fs.PathError{Op: "open", Path: "x", Err: errors.New("odd")}, "odd"},
		{errors.New("bare"), "bare"},
	} {
		if got := Cause(c.err); got != c.want {
			t.Errorf("%v: %s, want %s", c.err, got, c.want)
		}
	}
}
