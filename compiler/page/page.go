package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"strings"
	"sync"

	"fettle/compiler/review"
)

//go:embed page.gohtml style/*.css script/*.js
var files embed.FS

var body = sync.OnceValue(func() *template.Template { return template.Must(template.ParseFS(files, "page.gohtml")) })

// The parts of the style and of the script, in the order in which they are
// joined.
var (
	styles  = []string{"base.css", "tables.css", "explore.css", "print.css"}
	scripts = []string{"numbers.js", "unpack.js", "chain.js", "dom.js", "filters.js", "tables.js", "plots.js", "surface.js", "cell.js", "main.js"}
)

// Options says how a page is written.
type Options struct {
	Call     string // how fettle was called, for the commands that the page names; "" for its plain name
	MaxBytes int    // how large it may become, though what stands in it without a script stays whole; 0 for 2 MB
}

const (
	defaultMax = 2_000_000
	// packAbove is the size from which the data is deflated.
	packAbove = 150_000
	// roomForNotes is what it takes to say what was left out.
	roomForNotes = 1000
)

// Write writes a review as one HTML file.
func Write(r *review.Review, opt Options) ([]byte, error) {
	if opt.Call == "" {
		opt.Call = "fettle"
	}
	if opt.MaxBytes <= 0 {
		opt.MaxBytes = defaultMax
	}
	_, v := newView(r)
	frame, err := render(v, &blob{})
	if err != nil {
		return nil, err
	}
	packed, left, err := fitData(r, opt.Call, opt.MaxBytes-len(frame)-roomForNotes)
	if err != nil {
		return nil, err
	}
	v.Left = left
	v.Data = v.Data && packed != nil
	return render(v, packed)
}

// render puts the page together around its data.
func render(v *view, data *blob) ([]byte, error) {
	style, err := joined("style/", styles)
	if err != nil {
		return nil, err
	}
	script, err := joined("script/", scripts)
	if err != nil {
		return nil, err
	}
	script = "\"use strict\";\n(() => {\n" + script + "})();\n"
	var b bytes.Buffer
	b.WriteString("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n")
	b.WriteString("<meta http-equiv=\"Content-Security-Policy\" content=\"" + policy(style, script) + "\">\n")
	b.WriteString("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"referrer\" content=\"no-referrer\">\n")
	b.WriteString("<title>" + template.HTMLEscapeString(v.Title) + "</title>\n<style>" + style + "</style>\n</head>\n<body>\n")
	if err := body().Execute(&b, v); err != nil {
		return nil, err
	}
	if v.Data {
		b.WriteString("<script id=\"data\" type=\"" + data.kind + "\">")
		b.Write(data.bytes)
		b.WriteString("</script>\n<script>" + script + "</script>\n")
	}
	b.WriteString("</body>\n</html>\n")
	return b.Bytes(), nil
}

// policy lets in the one style and the one script, and nothing else.
func policy(style, script string) string {
	return "default-src 'none'; style-src " + digest(style) + "; script-src " + digest(script) +
		"; base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'; trusted-types 'none'"
}

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

func joined(folder string, names []string) (string, error) {
	var b strings.Builder
	for _, name := range names {
		text, err := files.ReadFile(folder + name)
		if err != nil {
			return "", err
		}
		b.Write(text)
	}
	return b.String(), nil
}
