package git

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strconv"
	"strings"
	"sync"
)

// MaxBlob is the largest file of a revision that is read, in bytes.
const MaxBlob = 32 << 20

// maxKept bounds what is kept of what has been read, in bytes.
const maxKept = 64 << 20

// object is what git knows by one name. The data of one over MaxBlob is nil.
type object struct {
	hash, kind string
	size       int64
	data       []byte
}

var (
	errMissing = errors.New("git has no such object")
	errTwoOf   = errors.New("several objects have names that begin so")
)

// batch is one `git cat-file --batch`. A question is a line; the answer is a
// line with the object's hash, kind and size, and the object itself. Questions
// of several goroutines wait for each other.
//
// The process ends when its standard input does, so one that is forgotten ends
// with us.
type batch struct {
	dir  string
	mu   sync.Mutex
	cmd  *exec.Cmd
	in   io.WriteCloser
	out  *bufio.Reader
	said *said
	kept map[string]object // by hash
	held int               // bytes in kept
}

// ask asks for the object of a name, which git takes for a whole line.
func (b *batch) ask(name string) (object, error) {
	if name == "" || strings.ContainsAny(name, "\n\x00") {
		return object{}, errMissing
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if o, ok := b.kept[name]; ok {
		return o, nil
	}
	if b.cmd == nil {
		if err := b.start(); err != nil {
			return object{}, err
		}
	}
	o, err := b.answer(name)
	if err != nil && err != errMissing && err != errTwoOf {
		// Some names make git give up, such as one of an upstream that isn't
		// there. The next question starts another.
		return object{}, b.end(err)
	}
	if err == nil {
		b.keep(o)
	}
	return o, err
}

func (b *batch) start() error {
	cmd, err := command(b.dir, "cat-file", "--batch")
	if err != nil {
		return err
	}
	b.said = &said{}
	cmd.Stderr = b.said
	in, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("git can't be run: %w", err)
	}
	b.cmd, b.in, b.out = cmd, in, bufio.NewReaderSize(out, 64<<10)
	return nil
}

// end ends the process and gives the reason, in git's words if it said any.
func (b *batch) end(reason error) error {
	b.in.Close()
	_, _ = io.Copy(io.Discard, b.out)
	err := b.cmd.Wait()
	b.cmd = nil
	var ee *exec.ExitError
	if errors.As(err, &ee) {
		return &failure{ee.ExitCode(), b.said.line()}
	}
	return reason
}

func (b *batch) answer(name string) (o object, err error) {
	if _, err := io.WriteString(b.in, name+"\n"); err != nil {
		return o, err
	}
	line, err := b.out.ReadString('\n')
	if err != nil {
		return o, io.ErrUnexpectedEOF
	}
	// Only a found object's line ends with a number.
	words := strings.Fields(line)
	if len(words) != 3 {
		return o, lost(line)
	}
	size, err := strconv.ParseInt(words[2], 10, 64)
	if err != nil || !isHash(words[0]) {
		return o, lost(line)
	}
	o = object{hash: words[0], kind: words[1], size: size}
	if size > MaxBlob {
		_, err = io.CopyN(io.Discard, b.out, size)
	} else {
		o.data = make([]byte, size)
		_, err = io.ReadFull(b.out, o.data)
	}
	if err == nil {
		_, err = b.out.Discard(1) // the line end behind it
	}
	return o, err
}

func lost(line string) error {
	if strings.HasSuffix(line, " ambiguous\n") {
		return errTwoOf
	}
	return errMissing
}

// keep keeps an object by its hash, which stands for these bytes for ever.
func (b *batch) keep(o object) {
	if b.kept == nil || b.held+len(o.data) > maxKept {
		b.kept, b.held = map[string]object{}, 0
	}
	if _, ok := b.kept[o.hash]; !ok {
		b.kept[o.hash] = o
		b.held += len(o.data)
	}
}

func (b *batch) close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.kept, b.held = nil, 0
	if b.cmd == nil {
		return nil
	}
	return b.end(nil)
}

// isHash says whether a text is an object's full name.
func isHash(s string) bool {
	if len(s) != 40 && len(s) != 64 {
		return false
	}
	return strings.Trim(s, "0123456789abcdef") == ""
}
