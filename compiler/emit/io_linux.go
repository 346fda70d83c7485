package emit

import (
	"errors"
	"io"
	"io/fs"

	"golang.org/x/sys/unix"
)

// place is a folder in which files are made by names within it. The system then
// doesn't walk the whole path for each, and is called directly: package os would
// also ask of every file whether it can be waited for. Together that is a third of
// the time of a small file.
type place struct {
	fd int
}

// anywhere is the place of whole paths.
var anywhere = place{unix.AT_FDCWD}

// openPlace gives the place of a folder; it must be closed.
func openPlace(dir string) (place, error) {
	fd, err := retried("open", dir, func() (int, error) {
		return unix.Open(dir, unix.O_PATH|unix.O_DIRECTORY|unix.O_CLOEXEC, 0)
	})
	return place{fd}, err
}

func (p place) close() { _ = unix.Close(p.fd) }

// create writes a file that isn't there yet.
func (p place) create(path string, data []byte) error {
	fd, err := retried("open", path, func() (int, error) {
		return unix.Openat(p.fd, path, unix.O_WRONLY|unix.O_CREAT|unix.O_EXCL|unix.O_CLOEXEC, 0o666)
	})
	if err != nil {
		return err
	}
	for len(data) > 0 && err == nil {
		var n int
		n, err = retried("write", path, func() (int, error) { return unix.Write(fd, data) })
		data = data[max(n, 0):]
	}
	// What an interrupted close left is closed all the same.
	if err2 := unix.Close(fd); err == nil && err2 != nil && !errors.Is(err2, unix.EINTR) {
		err = &fs.PathError{Op: "close", Path: path, Err: err2}
	}
	return err
}

// mkdir makes a folder that isn't there yet.
func (p place) mkdir(path string) error {
	_, err := retried("mkdir", path, func() (int, error) { return 0, unix.Mkdirat(p.fd, path, 0o777) })
	return err
}

// link gives a file of another place the same name in this one.
func (p place) link(from place, path string) error {
	_, err := retried("link", path, func() (int, error) { return 0, unix.Linkat(from.fd, path, p.fd, path, 0) })
	return err
}

// open opens a file for reading, but no link; a pipe isn't waited for.
func (p place) open(path string) (plainFile, error) {
	fd, err := retried("open", path, func() (int, error) {
		return unix.Openat(p.fd, path, unix.O_RDONLY|unix.O_NOFOLLOW|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	})
	return plainFile(fd), err
}

// plainFile is a file that is read.
type plainFile int

// Read implements io.Reader.
func (f plainFile) Read(p []byte) (int, error) {
	n, err := retried("read", "", func() (int, error) { return unix.Read(int(f), p) })
	switch {
	case err != nil:
		return 0, err
	case n == 0 && len(p) > 0:
		return 0, io.EOF
	}
	return n, nil
}

// Close implements io.Closer.
func (f plainFile) Close() error { return unix.Close(int(f)) }

// retried calls again where a signal came between, and says what failed.
func retried(op, path string, call func() (int, error)) (int, error) {
	for {
		n, err := call()
		switch {
		case err == nil:
			return n, nil
		case !errors.Is(err, unix.EINTR):
			return n, &fs.PathError{Op: op, Path: path, Err: err}
		}
	}
}
