package git

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Commit is one commit. Author and Subject are fit for a line of a terminal:
// control characters in them have become spaces.
type Commit struct {
	Hash    string
	Short   string // as much of the hash as tells it from every other object, at least 7 digits
	Tree    string // the hash of all its files: two commits with one have the same files
	Parents []string
	Author  string   // the name
	Date    string   // of authorship, as recorded: 2026-03-01T18:30:00+01:00
	Subject string   // the first line of its message
	Before  []string // of a commit that History gives: see there
	Cut     bool     // a shallow clone lacks its parents, so that what it changed can't be told
}

// commit reads a commit's object.
func (r *Repo) commit(o object) (Commit, error) {
	head, message, _ := strings.Cut(string(o.data), "\n\n")
	c := Commit{Hash: o.hash}
	encoding := ""
	for _, line := range strings.Split(head, "\n") {
		word, rest, _ := strings.Cut(line, " ")
		switch word {
		case "tree":
			c.Tree = rest
		case "parent":
			c.Parents = append(c.Parents, rest)
		case "author":
			c.Author, c.Date = author(rest)
		case "encoding":
			encoding = rest
		}
	}
	if c.Tree == "" {
		return Commit{}, fmt.Errorf("commit %s can't be read", o.hash)
	}
	// The subject is the first paragraph on one line.
	subject, _, _ := strings.Cut(strings.TrimLeft(message, "\n"), "\n\n")
	c.Author, c.Subject = plain(utf8Of(c.Author, encoding)), plain(utf8Of(strings.Join(strings.Fields(subject), " "), encoding))
	if r.shallow[c.Hash] {
		c.Cut, c.Parents = true, nil
	}
	var err error
	c.Short, err = r.short(c.Hash)
	return c, err
}

// author parts "Name <mail> 1700000000 +0100".
func author(s string) (name, date string) {
	i, j := strings.IndexByte(s, '<'), strings.LastIndexByte(s, '>')
	if i < 0 || j < i {
		return s, ""
	}
	name = strings.TrimSpace(s[:i])
	words := strings.Fields(s[j+1:])
	if len(words) != 2 {
		return name, ""
	}
	const lastYear = 253402300799 // the end of 9999
	seconds, err := strconv.ParseInt(words[0], 10, 64)
	zone, err2 := strconv.Atoi(words[1])
	if err != nil || err2 != nil || seconds < 0 || seconds > lastYear || zone < -9959 || zone > 9959 {
		return name, ""
	}
	offset := (zone/100*60 + zone%100) * 60
	return name, time.Unix(seconds, 0).In(time.FixedZone("", offset)).Format(time.RFC3339)
}

// utf8Of turns a commit's text into UTF-8. Of the encodings that a commit may
// name only Latin-1 is known; what else isn't UTF-8 loses its odd characters.
func utf8Of(s, encoding string) string {
	if utf8.ValidString(s) {
		return s
	}
	switch strings.ToLower(encoding) {
	case "iso-8859-1", "iso8859-1", "latin1", "latin-1":
		var b strings.Builder
		for i := range len(s) {
			b.WriteRune(rune(s[i]))
		}
		return b.String()
	}
	return s
}

// short cuts a hash to what is still its alone.
func (r *Repo) short(hash string) (string, error) {
	for n := 7; n < len(hash); n++ {
		switch o, err := r.objects.ask(hash[:n]); {
		case err == errTwoOf || err == errMissing || err == nil && o.hash != hash:
		case err != nil:
			return "", err
		default:
			return hash[:n], nil
		}
	}
	return hash, nil
}
