package importer

import (
	"bytes"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"fettle/lang/source"
)

// read makes cells of the bytes.
func (j *job) read(data []byte) bool {
	switch {
	case len(data) > MaxFile:
		return j.refuse("the file has over %d bytes, the most that is read", MaxFile)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return j.workbook(data)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		j.refuse("the file is a workbook of the old kind (.xls), or one with a password")
		j.errs.Last().Hint("save it as .xlsx, without a password, or as CSV")
		return false
	}
	text, ok := j.decode(data)
	if !ok {
		return false
	}
	text = j.lineEnds(text)
	j.file = source.New(j.opt.File, text)
	if strings.Trim(text, " \t\n") == "" {
		return j.refuse("the file is empty")
	}
	j.dial.Form = "text"
	return j.split()
}

// refuse reports something about the file as a whole.
func (j *job) refuse(msg string, args ...any) bool {
	j.errs.Add("E901", source.Span{File: j.file}, msg, args...)
	return false
}

// decode makes UTF-8 of a text: by its byte order mark, else UTF-8 if it is, else
// the Latin letters of Windows, which are those of Latin-1 and some signs more.
func (j *job) decode(data []byte) (string, bool) {
	if rest, ok := bytes.CutPrefix(data, []byte("\ufeff")); ok {
		if !utf8.Valid(rest) {
			return "", j.refuse("the file begins as UTF-8 and isn't")
		}
		j.dial.Encoding = "UTF-8 with a byte order mark"
		return j.printable(string(rest))
	}
	if big := bytes.HasPrefix(data, []byte("\xfe\xff")); big || bytes.HasPrefix(data, []byte("\xff\xfe")) {
		rest := data[2:]
		if len(rest)%2 != 0 {
			return "", j.refuse("the file begins as UTF-16 and has an odd number of bytes")
		}
		units := make([]uint16, len(rest)/2)
		for i := range units {
			lo, hi := uint16(rest[2*i]), uint16(rest[2*i+1])
			if big {
				lo, hi = hi, lo
			}
			units[i] = hi<<8 | lo
		}
		j.dial.Encoding = "UTF-16"
		return j.printable(string(utf16.Decode(units)))
	}
	if utf8.Valid(data) {
		j.dial.Encoding = "UTF-8"
		return j.printable(string(data))
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		return "", j.refuse("the file is no text that can be read: %v", err)
	}
	j.dial.Encoding = "Latin-1"
	j.notef("the file isn't UTF-8 and was read as Latin-1: look at names with accents, and at signs such as ° and µ")
	return j.printable(string(text))
}

func (j *job) printable(text string) (string, bool) {
	if strings.ContainsRune(text, 0) {
		return "", j.refuse("the file has bytes of nothing in it: it is no text, or UTF-16 without its mark")
	}
	return text, true
}

// lineEnds ends all lines alike.
func (j *job) lineEnds(text string) string {
	crlf := strings.Count(text, "\r\n")
	cr, lf := strings.Count(text, "\r")-crlf, strings.Count(text, "\n")-crlf
	switch {
	case crlf+cr+lf == 0:
		j.dial.LineEnds = "none"
	case crlf > 0 && cr+lf == 0:
		j.dial.LineEnds = "CRLF"
	case cr > 0 && crlf+lf == 0:
		j.dial.LineEnds = "CR"
	case lf > 0 && crlf+cr == 0:
		j.dial.LineEnds = "LF"
	default:
		j.dial.LineEnds = "mixed"
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
}
