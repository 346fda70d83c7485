package unit

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"unicode/utf8"
)

const (
	maxText   = 200 // bytes of a unit's text
	maxDegree = 144 // sum of the exponents' sizes, so that powers of powers stay small
)

// ParseError is what is wrong with a unit's text, and where: Len bytes from byte At of the text given.
type ParseError struct {
	At, Len int
	Msg     string
	Suggest string // what to write there instead; empty when nothing is near
}

func (e *ParseError) Error() string {
	if e.Suggest == "" {
		return e.Msg
	}
	return e.Msg + "; did you mean `" + e.Suggest + "`?"
}

// Parse reads what stands between a unit's brackets. Names are multiplied by a space or `*` and divided by `/`, from left
// to right; `^` raises to a whole power and binds tightest; there are parentheses, and `1/` may lead. After a `/` a space
// doesn't multiply, because readers disagree about "J/kg K": it takes `*`, a second `/` or parentheses.
// Errors are of type *ParseError.
func Parse(text string) (Unit, error) {
	if u, ok := read.Load(text); ok {
		return u.(Unit), nil
	}
	u, err := parseWith(text, Lookup, Suggest)
	if err == nil && readCount.Load() < maxRead {
		if _, there := read.LoadOrStore(strings.Clone(text), u); !there {
			readCount.Add(1)
		}
	}
	return u, err
}

// read holds units by their texts: a workspace has few, and names each often.
var (
	read      sync.Map
	readCount atomic.Int32
)

const maxRead = 1000

// parseWith is Parse for any set of names, as of a table that isn't finished.
func parseWith(text string, lookup func(string) (Unit, bool), suggest func(string) string) (Unit, error) {
	if len(text) > maxText {
		return Unit{}, &ParseError{0, len(text), fmt.Sprintf("a unit is at most %d characters long", maxText), ""}
	}
	p := parser{text: text, capped: true}
	terms, err := p.parse()
	if err != nil {
		return Unit{}, err
	}
	u := Unit{Text: strings.Trim(text, " \t")}
	for _, t := range terms {
		v, ok := lookup(t.name)
		if !ok {
			return Unit{}, &ParseError{t.at, len(t.name), "there is no unit `" + t.name + "`", suggest(t.name)}
		}
		if v.IsPoint() {
			if p.operators > 0 {
				return Unit{}, &ParseError{t.at, len(t.name),
					"`" + t.name + "` is a point on a scale and can't be multiplied or divided; write K", "K"}
			}
			u.Offset = v.Offset
		}
		n := t.exp / whole
		d, ok := v.Dim.Pow(n, 1)
		if !ok { // out of reach below maxDegree
			return Unit{}, &ParseError{t.at, len(t.name), "the power of `" + t.name + "` is too large", ""}
		}
		u.Dim = u.Dim.Mul(d)
		u.Factor = u.Factor.Mul(v.Factor.PowInt(n))
	}
	return u, nil
}

// parser reads a text into names with exponents. It doesn't know which names exist.
type parser struct {
	text      string
	pos       int
	operators int
	fractions bool // takes "^(1/2)", which composed texts have and sources don't
	capped    bool
}

func (p *parser) parse() ([]term, error) {
	ts, err := p.product()
	if err != nil {
		return nil, err
	}
	if p.pos < len(p.text) {
		return nil, p.fail(p.pos, 1, "this `)` closes nothing")
	}
	return ts, nil
}

// product reads factors up to the end of the text or a closing parenthesis.
func (p *parser) product() ([]term, error) {
	p.space()
	var all []term
	divided := false
	if p.leadingOne() {
		divided = true
	} else {
		ts, err := p.power()
		if err != nil {
			return nil, err
		}
		all = ts
	}
	for {
		gap := p.pos
		p.space()
		if p.pos == len(p.text) || p.text[p.pos] == ')' {
			return all, nil
		}
		sign := 1
		switch p.text[p.pos] {
		case '*', '/':
			if p.text[p.pos] == '/' {
				sign, divided = -1, true
			}
			p.pos++
			p.space()
		default:
			if gap == p.pos {
				_, n := utf8.DecodeRuneInString(p.text[gap:])
				return nil, p.fail(gap, n, "a space or `*` is missing before this")
			}
			if divided {
				return nil, p.fail(gap, max(1, p.pos-gap),
					"a space after a `/` can be read two ways; write `*`, another `/` or parentheses")
			}
		}
		p.operators++
		ts, err := p.power()
		if err != nil {
			return nil, err
		}
		for _, t := range ts {
			t.exp *= sign
			all = append(all, t)
		}
		if err := p.degree(all, 1, gap); err != nil {
			return nil, err
		}
	}
}

// leadingOne takes the 1 of "1/s" and leaves the slash.
func (p *parser) leadingOne() bool {
	rest := p.text[p.pos:]
	if !strings.HasPrefix(rest, "1") || !strings.HasPrefix(strings.TrimLeft(rest[1:], " \t"), "/") {
		return false
	}
	p.pos++
	return true
}

// power reads a name or a parenthesised product, and its exponent.
func (p *parser) power() ([]term, error) {
	ts, err := p.atom()
	if err != nil {
		return nil, err
	}
	after := p.pos
	p.space()
	if p.pos == len(p.text) || p.text[p.pos] != '^' {
		p.pos = after
		return ts, nil
	}
	p.operators++
	p.pos++
	start := p.pos
	exp, err := p.exponent()
	if err != nil {
		return nil, err
	}
	if err := p.degree(ts, exp/whole, start); err != nil {
		return nil, err
	}
	for i := range ts {
		ts[i].exp = ts[i].exp * exp / whole
	}
	after = p.pos
	p.space()
	if p.pos < len(p.text) && p.text[p.pos] == '^' {
		return nil, p.fail(p.pos, 1, "a power of a power needs parentheses")
	}
	p.pos = after
	return ts, nil
}

func (p *parser) atom() ([]term, error) {
	if p.pos == len(p.text) {
		return nil, p.fail(p.pos, 0, "a unit is missing here")
	}
	start := p.pos
	switch c := p.text[p.pos]; c {
	case '(':
		p.pos++
		ts, err := p.product()
		if err != nil {
			return nil, err
		}
		if p.pos == len(p.text) {
			return nil, p.fail(start, 1, "this `(` isn't closed")
		}
		p.pos++
		return ts, nil
	case '*', '/', '^', ')':
		return nil, p.fail(start, 1, "a unit is missing before this `"+string(c)+"`")
	case '%':
		p.pos++
		return []term{{"%", whole, start}}, nil
	}
	name := p.text[start:]
	if i := strings.IndexAny(name, " \t*/^()%·⋅×"); i >= 0 {
		name = name[:i]
	}
	if name == "" {
		_, n := utf8.DecodeRuneInString(p.text[start:])
		return nil, p.fail(start, n, "units are multiplied by a space or `*`")
	}
	if c := name[0]; '0' <= c && c <= '9' || c == '-' || c == '+' || c == '.' {
		return nil, p.fail(start, len(name), "a unit holds no numbers, but for powers and a leading `1/`")
	}
	p.pos += len(name)
	return []term{{name, whole, start}}, nil
}

// exponent reads a signed whole number, in twelfths.
func (p *parser) exponent() (int, error) {
	p.space()
	start := p.pos
	if p.fractions && strings.HasPrefix(p.text[start:], "(") {
		var num, den int
		end := strings.IndexByte(p.text[start:], ')')
		if n, err := fmt.Sscanf(p.text[start:], "(%d/%d)", &num, &den); err != nil || n != 2 || end < 0 || den <= 0 || num*whole%den != 0 {
			return 0, p.fail(start, 1, "a power is a whole number")
		}
		p.pos += end + 1
		return num * whole / den, nil
	}
	if start < len(p.text) && (p.text[start] == '-' || p.text[start] == '+') {
		p.pos++
	}
	for p.pos < len(p.text) && '0' <= p.text[p.pos] && p.text[p.pos] <= '9' {
		p.pos++
	}
	n, err := strconv.Atoi(p.text[start:p.pos])
	if rest := p.text[p.pos:]; rest != "" && !strings.ContainsRune(" \t*/^()", rune(rest[0])) {
		_, size := utf8.DecodeRuneInString(rest)
		return 0, p.fail(start, p.pos-start+size, "a power is a whole number")
	}
	if errors.Is(err, strconv.ErrSyntax) {
		return 0, p.fail(start, p.pos-start, "a power is a whole number")
	}
	if err != nil || p.capped && (n < -MaxPower || n > MaxPower) {
		return 0, p.fail(start, p.pos-start, fmt.Sprintf("a power is within -%d..%d", MaxPower, MaxPower))
	}
	return n * whole, nil
}

// degree refuses products that would grow beyond all reason when raised to the power n.
func (p *parser) degree(ts []term, n, at int) error {
	sum := 0
	for _, t := range ts {
		sum += max(t.exp, -t.exp) / whole
	}
	if p.capped && sum*max(n, -n) > maxDegree {
		return p.fail(at, p.pos-at, "the powers in this unit are too large")
	}
	return nil
}

func (p *parser) space() {
	for p.pos < len(p.text) && (p.text[p.pos] == ' ' || p.text[p.pos] == '\t') {
		p.pos++
	}
}

func (p *parser) fail(at, n int, msg string) error {
	return &ParseError{At: at, Len: n, Msg: msg}
}
