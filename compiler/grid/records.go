package grid

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// MaxCells is the largest number of cells that a CSV file may have, headings
// included: far more than any map, and little enough to hold in memory.
const MaxCells = 2_000_000

// maxCSVErrors bounds the list of errors: after that many, the file as a whole
// is something else than it should be.
const maxCSVErrors = 100

// Field is one field of a CSV file.
type Field struct {
	Text      string // without the quotes around it, doubled quotes undone
	Line, Col int    // where it starts, quote included; both from 1, Col in characters
	From, To  int    // its bytes in the input, quotes included
	Quoted    bool
}

// CSVError says what is wrong with a place of a CSV file.
type CSVError struct {
	Line, Col int    // both from 1, Col in characters
	From, To  int    // the bytes of the cell in the input
	Cell      string // the cell's text, shortened if long
	Msg       string // what is wrong, a sentence without its full stop
	Fix       string // what to write instead; may be empty
}

func (e CSVError) Error() string {
	text := fmt.Sprintf("line %d, column %d: %s", e.Line, e.Col, e.Msg)
	if e.Cell != "" {
		text += fmt.Sprintf(" (%q)", e.Cell)
	}
	if e.Fix != "" {
		text += ": " + e.Fix
	}
	return text
}

// Records splits CSV text into records of fields, strictly as RFC 4180 has it:
// commas between fields, a field with a comma, a quote or a line end in quotes,
// a quote in it doubled. LF and CRLF end a line; a byte-order mark is passed
// over, and blank lines at the end are no records (a blank line elsewhere is a
// record of one empty field).
//
// All faults come in one list, in order of place, at most 100 of them. Where the
// file isn't comma-separated at all, is in UTF-16, or has more than [MaxCells]
// cells, there are no records and one error.
func Records(text []byte) ([][]Field, []CSVError) {
	return split(string(text), MaxCells)
}

// split is Records with the largest number of fields as a parameter.
func split(text string, maxFields int) ([][]Field, []CSVError) {
	if strings.HasPrefix(text, "\xff\xfe") || strings.HasPrefix(text, "\xfe\xff") {
		return nil, []CSVError{{Line: 1, Col: 1, To: 2,
			Msg: "the file is in UTF-16", Fix: "save it as CSV in UTF-8"}}
	}
	s := splitter{text: text, line: 1, col: 1, room: maxFields, valid: utf8.ValidString(text), quotes: strings.Contains(text, `"`)}
	// Counted before anything is made of them: no fewer than there are fields.
	if n := strings.Count(text, ",") + strings.Count(text, "\n") + strings.Count(text, "\r"); n >= maxFields && !s.quotes {
		if n = fields(text); n > maxFields {
			return nil, []CSVError{{Line: 1, Col: 1, Msg: fmt.Sprintf("the file has %d cells, and the most is %d", n, maxFields)}}
		}
	}
	if strings.HasPrefix(text, "\ufeff") {
		s.pos = len("\ufeff")
	}
	var records [][]Field
	for s.pos < len(text) {
		record, ok := s.record()
		if !ok {
			return nil, []CSVError{{Line: s.line, Col: s.col, From: s.pos, To: s.pos,
				Msg: fmt.Sprintf("the file has more than %d cells", maxFields)}}
		}
		records = append(records, record)
		s.width = len(record)
		if first := records[0]; len(records) == 1 && len(first) == 1 && !first[0].Quoted {
			if sep := otherSeparator(first[0].Text); sep != "" {
				return nil, []CSVError{separatorError(first[0], sep)}
			}
		}
	}
	for n := len(records); n > 0 && blankLine(records[n-1]); n-- {
		records = records[:n-1]
	}
	return records, s.errs
}

// fields counts the cells of a text without quotes.
func fields(text string) int {
	n := strings.Count(text, ",")
	for i := 0; i < len(text); i++ {
		if text[i] == '\n' || text[i] == '\r' && !strings.HasPrefix(text[i+1:], "\n") {
			n++
		}
	}
	if c := text[len(text)-1]; c != '\n' && c != '\r' {
		n++
	}
	return n
}

func blankLine(record []Field) bool {
	return len(record) == 1 && !record[0].Quoted && trim(record[0].Text) == ""
}

// otherSeparator names the separator that a line uses instead of commas.
func otherSeparator(line string) string {
	switch {
	case strings.Contains(line, ";"):
		return "semicolon"
	case strings.Contains(trim(line), "\t"):
		return "tab"
	}
	return ""
}

func separatorError(f Field, sep string) CSVError {
	return f.fault("the cells stand between "+sep+"s",
		"save the file as CSV with commas between the cells and dots in the numbers")
}

// fault returns an error at the field.
func (f Field) fault(msg, fix string) CSVError {
	const long = 60
	cell := strings.ToValidUTF8(f.Text, "\ufffd")
	if utf8.RuneCountInString(cell) > long {
		cell = string([]rune(cell)[:long]) + "…"
	}
	return CSVError{Line: f.Line, Col: f.Col, From: f.From, To: f.To, Cell: cell, Msg: msg, Fix: fix}
}

// splitter walks over the text once, a byte at a time.
type splitter struct {
	text      string
	pos       int
	line, col int  // of pos
	room      int  // fields that there is still room for
	width     int  // fields of the record before
	valid     bool // the whole text is UTF-8
	quotes    bool // there are some
	loneCR    bool // reported already
	errs      []CSVError
}

func (s *splitter) fault(e CSVError) {
	if len(s.errs) < maxCSVErrors {
		s.errs = append(s.errs, e)
	}
}

// record reads the fields up to the end of a line, and the line end.
// ok is false where there is no room for another field.
func (s *splitter) record() (fields []Field, ok bool) {
	fields = make([]Field, 0, s.width)
	for {
		if s.room == 0 {
			return fields, false
		}
		s.room--
		fields = append(fields, s.field())
		if s.pos < len(s.text) && s.text[s.pos] == ',' {
			s.advance(s.pos + 1)
			continue
		}
		s.lineEnd()
		return fields, true
	}
}

// lineEnd passes over the line end at pos, if the text isn't over.
func (s *splitter) lineEnd() {
	switch rest := s.text[s.pos:]; {
	case rest == "":
	case strings.HasPrefix(rest, "\r\n"):
		s.advance(s.pos + 2)
	case rest[0] == '\r':
		if !s.loneCR {
			s.loneCR = true
			s.fault(CSVError{Line: s.line, Col: s.col, From: s.pos, To: s.pos + 1,
				Msg: "a line ends with a carriage return alone", Fix: "save the file with LF or CRLF line ends"})
		}
		s.advance(s.pos + 1)
	default:
		s.advance(s.pos + 1)
	}
}

// field reads one field and stops at the comma, line end or end of text after it.
func (s *splitter) field() Field {
	f := Field{Line: s.line, Col: s.col, From: s.pos}
	if s.pos < len(s.text) && s.text[s.pos] == '"' {
		s.quoted(&f)
	} else {
		end := s.delimiter(s.pos)
		f.Text, f.To = s.text[s.pos:end], end
		if s.quotes && strings.Contains(f.Text, `"`) {
			s.fault(f.fault("a quote stands inside a cell that isn't in quotes",
				"put the cell in quotes and double the quotes in it"))
		}
		s.pos = end // no line ends before it
		for i := 0; i < len(f.Text); i++ {
			if f.Text[i]&0xC0 != 0x80 {
				s.col++
			}
		}
	}
	if !s.valid && !utf8.ValidString(f.Text) {
		s.fault(f.fault("the text isn't UTF-8", "save the file as CSV in UTF-8"))
	}
	return f
}

// quoted reads a field that starts with a quote.
func (s *splitter) quoted(f *Field) {
	f.Quoted = true
	var text strings.Builder
	msg, fix := "", ""
	for pos := s.pos + 1; ; pos++ {
		n := strings.IndexByte(s.text[pos:], '"')
		if n < 0 {
			text.WriteString(s.text[pos:])
			f.To = len(s.text)
			msg, fix = "a quote is opened and never closed", "close the quote"
			break
		}
		text.WriteString(s.text[pos : pos+n])
		pos += n + 1
		if strings.HasPrefix(s.text[pos:], `"`) {
			text.WriteByte('"')
			continue
		}
		f.To = s.delimiter(pos)
		if f.To > pos {
			text.WriteString(s.text[pos:f.To])
			msg, fix = "text follows the closing quote of a cell", "put the whole cell in quotes and double the quotes in it"
		}
		break
	}
	f.Text = text.String()
	if msg != "" {
		s.fault(f.fault(msg, fix))
	}
	s.advance(f.To)
}

// delimiter returns the position of the first comma or line end from pos on.
func (s *splitter) delimiter(pos int) int {
	text := s.text
	for pos < len(text) && text[pos] != ',' && text[pos] != '\r' && text[pos] != '\n' {
		pos++
	}
	return pos
}

// advance moves to a later position and keeps line and column in step.
func (s *splitter) advance(to int) {
	for ; s.pos < to; s.pos++ {
		switch b := s.text[s.pos]; {
		case b == '\n', b == '\r' && !strings.HasPrefix(s.text[s.pos+1:], "\n"):
			s.line++
			s.col = 1
		case b&0xC0 != 0x80: // not the inside of a character
			s.col++
		}
	}
}

// trim takes spaces and tabs off both ends, and nothing else: a no-break space
// may be a thousands mark.
func trim(s string) string {
	for s != "" && (s[0] == ' ' || s[0] == '\t') {
		s = s[1:]
	}
	for s != "" && (s[len(s)-1] == ' ' || s[len(s)-1] == '\t') {
		s = s[:len(s)-1]
	}
	return s
}
