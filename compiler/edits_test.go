package compiler_test

import (
	"fmt"
	"math/rand/v2"
	"path"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// Random edits of a workspace, as people make them. Many don't compile, and are
// of no use here.

// editing is an edit being made.
type editing struct {
	r     *rand.Rand
	files map[string]string
	names []string // of the sources, and of all
	all   []string
	n     int // to make names that are new
}

// pick chooses one of a list; the zero value of none.
func pick[T any](e *editing, list []T) (out T) {
	if len(list) == 0 {
		return out
	}
	return list[e.r.IntN(len(list))]
}

// swap replaces one of the places that a pattern matches in a source.
func (e *editing) swap(pattern string, with func(match []string) string) {
	re := regexp.MustCompile("(?m)" + pattern)
	type place struct {
		name string
		at   []int
	}
	var places []place
	for _, name := range e.all {
		for _, at := range re.FindAllStringSubmatchIndex(e.files[name], -1) {
			places = append(places, place{name, at})
		}
	}
	p := pick(e, places)
	if p.name == "" {
		return
	}
	text := e.files[p.name]
	var match []string
	for i := 0; i < len(p.at); i += 2 {
		match = append(match, text[max(0, p.at[i]):max(0, p.at[i+1])])
	}
	e.files[p.name] = text[:p.at[0]] + with(match) + text[p.at[1]:]
}

// found lists what the first group of a pattern matches in the sources.
func (e *editing) found(pattern string) []string {
	re := regexp.MustCompile("(?m)" + pattern)
	var out []string
	for _, name := range e.names {
		for _, m := range re.FindAllStringSubmatch(e.files[name], -1) {
			out = append(out, m[1])
		}
	}
	return out
}

func (e *editing) fresh(what string) string {
	e.n++
	return fmt.Sprintf("%s_%d", what, e.n)
}

func (e *editing) factor() string {
	return strconv.FormatFloat(0.9+0.2*e.r.Float64(), 'f', 3, 64)
}

func scaled(e *editing, number string) string {
	x, _ := strconv.ParseFloat(number, 64)
	return strconv.FormatFloat(x*(0.9+0.2*e.r.Float64()), 'f', 2, 64)
}

// blocks are the paragraphs of a source, which are declarations with their
// comments.
func (e *editing) blocks() (name string, list []string) {
	name = pick(e, e.names)
	return name, strings.Split(e.files[name], "\n\n")
}

func (e *editing) insert(decl string) {
	name, list := e.blocks()
	at := 1 + e.r.IntN(len(list))
	e.files[name] = strings.Join(slices.Insert(list, at, decl), "\n\n") + "\n"
}

// rename gives a name another one wherever it stands, in CSV files too.
func (e *editing) rename(old string) {
	if old == "" {
		return
	}
	re := regexp.MustCompile(`\b` + old + `\b`)
	now := e.fresh("renamed")
	for _, name := range e.all {
		e.files[name] = re.ReplaceAllString(e.files[name], now)
	}
}

// kinds of edit, by name.
var kindsOfEdit = []struct {
	name string
	make func(e *editing)
}{
	{"a number", func(e *editing) { e.swap(`\d+(?:\.\d+)?`, func(m []string) string { return scaled(e, m[0]) }) }},
	{"a number again", func(e *editing) { e.swap(`\d+(?:\.\d+)?`, func(m []string) string { return scaled(e, m[0]) }) }},
	{"a cell", func(e *editing) {
		e.swap(`^(.*[|,].*[ ,|])(\d+(?:\.\d+)?)`, func(m []string) string { return m[1] + scaled(e, m[2]) })
	}},
	{"a declaration goes", func(e *editing) {
		name, list := e.blocks()
		k := e.r.IntN(len(list))
		e.files[name] = strings.Join(slices.Delete(list, k, k+1), "\n\n")
	}},
	{"declarations change places", func(e *editing) {
		name, list := e.blocks()
		i, j := e.r.IntN(len(list)), e.r.IntN(len(list))
		list[i], list[j] = list[j], list[i]
		e.files[name] = strings.Join(list, "\n\n")
	}},
	{"a rule's name", func(e *editing) { e.rename(pick(e, e.found(`^rule (\w+)`))) }},
	{"another name", func(e *editing) { e.rename(pick(e, e.found(`^(?:given|let|fn|region|catalog|limit|curve) +(\w+)`))) }},
	{"a row's name", func(e *editing) {
		var rows []string
		for _, name := range e.all {
			if path.Ext(name) == ".csv" && strings.HasPrefix(e.files[name], "name,") {
				for _, line := range strings.Split(e.files[name], "\n")[1:] {
					row, _, _ := strings.Cut(line, ",")
					rows = append(rows, row)
				}
			}
		}
		e.rename(pick(e, append(rows, e.found(`^  ([a-z]\w*) +\|`)...)))
	}},
	{"a row more", func(e *editing) {
		e.swap(`^(  )[a-z]\w*( +\|[^\n\\]*\d[^\n\\]*)$`, func(m []string) string { return m[0] + "\n" + m[1] + e.fresh("row") + m[2] })
	}},
	{"a new rule", func(e *editing) {
		when := ""
		if g := pick(e, e.found(`^given (\w+) += (?:yes|no)`)); g != "" && e.r.IntN(2) == 0 {
			when = " when not " + g
		}
		over := pick(e, []string{"", " over rpm 2000..7000 feather 1000", " where rpm > 5000"})
		m := pick(e, e.found(`^map (\w+)`))
		e.insert(fmt.Sprintf("rule %s%s {\n  %s %s %s%s\n}", e.fresh("new"), when, m, pick(e, []string{"*=", "/="}), e.factor(), over))
	}},
	{"an operator", func(e *editing) {
		e.swap(`(\w +)([-+*/])=`, func(m []string) string {
			return m[1] + map[string]string{"+": "-", "-": "+", "*": "/", "/": "*"}[m[2]] + "="
		})
	}},
	{"a condition", func(e *editing) {
		e.swap(`^rule (\w+)( when .*)? \{`, func(m []string) string {
			if m[2] != "" {
				return "rule " + m[1] + pick(e, []string{"", strings.Replace(m[2], "when ", "when not (", 1) + ")"}) + " {"
			}
			return "rule " + m[1] + " when " + pick(e, e.found(`^given (\w+) += (?:yes|no)`)) + " {"
		})
	}},
	{"a region for a rule", func(e *editing) {
		e.swap(` over (\w+)$`, func([]string) string { return " over " + pick(e, e.found(`^region (\w+)`)) })
	}},
	{"a function", func(e *editing) {
		e.swap(`^(fn .*[ (])(\d+(?:\.\d+)?)`, func(m []string) string { return m[1] + scaled(e, m[2]) })
	}},
	{"a column's unit", func(e *editing) {
		e.swap(`^( +name +\|.*\[)(mg|mm|kW|cc/min)\]`, func(m []string) string {
			return m[1] + map[string]string{"mg": "ug", "mm": "cm", "kW": "W", "cc/min": "cm^3/s"}[m[2]] + "]"
		})
	}},
	{"a function's parameter", func(e *editing) {
		fn := pick(e, e.found(`^fn (\w+)\(`))
		if fn == "" {
			return
		}
		p := e.fresh("extra")
		re := regexp.MustCompile(`(fn +)?\b` + fn + `\(`)
		for _, name := range e.names {
			e.files[name] = re.ReplaceAllStringFunc(e.files[name], func(s string) string {
				if strings.HasPrefix(s, "fn") {
					return s + p + ", "
				}
				return s + e.factor() + ", "
			})
		}
		e.swap(`^(fn `+fn+`\(.*\).* = )(.+)$`, func(m []string) string { return m[1] + p + " * (" + m[2] + ")" })
	}},
	{"a function for a value", func(e *editing) {
		v := pick(e, e.found(`^let (\w+) += `))
		if v == "" {
			return
		}
		p := e.fresh("by")
		decl, use := regexp.MustCompile(`(?m)^let `+v+`\b +=(.*)$`), regexp.MustCompile(`\b`+v+`\b`)
		for _, name := range e.names {
			text := use.ReplaceAllString(e.files[name], v+"("+e.factor()+")")
			e.files[name] = regexp.MustCompile(`(?m)^let `+v+`\([\d.]+\)`).ReplaceAllString(text, "let "+v)
			e.files[name] = decl.ReplaceAllString(e.files[name], "fn "+v+"("+p+") = "+p+" * ($1)")
		}
	}},
	{"a breakpoint", addBreakpoint},
	{"a setting", func(e *editing) {
		e.swap(`^( +\w+ +=) (yes|no)$`, func(m []string) string { return m[1] + map[string]string{"yes": " no", "no": " yes"}[m[2]] })
	}},
	{"a default", func(e *editing) {
		e.swap(`^(given \w+ .*=) +(yes|no|[\d.]+)`, func(m []string) string {
			if now, ok := map[string]string{"yes": " no", "no": " yes"}[m[2]]; ok {
				return m[1] + now
			}
			return m[1] + " " + scaled(e, m[2])
		})
	}},
	{"a trim", func(e *editing) {
		trim := fmt.Sprintf("trim %s *= %s", pick(e, e.found(`^map (\w+)`)), e.factor())
		e.swap(`^(variants? [^{\n]*\{)( \})?`, func(m []string) string {
			if m[2] != "" {
				return m[1] + " " + trim + " }"
			}
			return m[1] + "\n  " + trim
		})
	}},
	{"a trim goes", func(e *editing) { e.swap(`^ +trim .*\n`, func([]string) string { return "" }) }},
	{"another start", func(e *editing) {
		e.swap(`^(variants? \w+ from )\S+`, func(m []string) string {
			return m[1] + pick(e, e.found(`^variant (\w+)`))
		})
	}},
	{"a clamp's bound", func(e *editing) {
		e.swap(`([<>]= )([\d.]+)( .*else clamp)`, func(m []string) string { return m[1] + scaled(e, m[2]) + m[3] })
	}},
	{"a clamp", func(e *editing) {
		unit, m := "", pick(e, e.found(`^(map \w+ +\[[^\]]+\])`))
		if m == "" {
			return
		}
		m, unit, _ = strings.Cut(strings.TrimPrefix(m, "map "), "[")
		bound := pick(e, []string{"5", "12", "20", "25"})
		e.insert(fmt.Sprintf("limit %s: %s %s %s [%s else clamp", e.fresh("limit"), strings.TrimSpace(m), pick(e, []string{"<=", ">="}), bound, unit))
	}},
	{"what a limit does", func(e *editing) {
		e.swap(`^(limit .*?)( else \w+)?$`, func(m []string) string { return m[1] + pick(e, []string{"", " else warn", " else clamp"}) })
	}},
	{"a resolution", func(e *editing) {
		e.swap(`^(map .*) to [\d.]+ `, func(m []string) string { return m[1] + pick(e, []string{" ", " to 0.5 ", " to 0.25 ", " to 0.002 "}) })
	}},
	{"a unit", func(e *editing) {
		other := map[string]string{"[mm]": "[cm]", "[m]": "[km]", "[mg]": "[ug]", "[ms]": "[us]", "[deg]": "[rad]", "[rpm]": "[rev/s]", "[psi]": "[kPa]", "[degC]": "[degF]", "[%]": "", "[g/min]": "[kg/h]"}
		e.swap(`\[[^\]\n]+\]`, func(m []string) string {
			if now, ok := other[m[0]]; ok {
				return now
			}
			return m[0]
		})
	}},
	{"an axis in another unit", func(e *editing) {
		e.swap(`^axis rpm +\[rpm\]`, func([]string) string { return "axis rpm [rev/s]" })
	}},
	{"a file in two", func(e *editing) {
		name, list := e.blocks()
		if len(list) < 3 {
			return
		}
		at := 1 + e.r.IntN(len(list)-1)
		part := e.fresh("part") + ".fettle"
		e.files[path.Join(path.Dir(name), part)] = strings.Join(list[at:], "\n\n") + "\n"
		e.files[name] = "use \"" + part + "\"\n" + strings.Join(list[:at], "\n\n") + "\n"
	}},
	{"a comment", func(e *editing) {
		e.swap(`^(rule|map|let|limit) `, func(m []string) string { return "# " + e.fresh("note") + "\n" + m[0] })
	}},
}

// addBreakpoint puts one between two columns of a grid in place, or of a CSV
// file.
func addBreakpoint(e *editing) {
	name := pick(e, e.all)
	lines := strings.Split(e.files[name], "\n")
	sep := "|"
	head := -1
	var heads []int
	for i, line := range lines {
		if strings.Contains(line, `\`) && strings.Contains(line, "|") && !strings.HasPrefix(line, "#") {
			heads = append(heads, i)
		}
	}
	if path.Ext(name) == ".csv" {
		if !strings.Contains(lines[0], `\`) {
			return
		}
		sep, heads = ",", []int{0}
	}
	if len(heads) == 0 {
		return
	}
	head = pick(e, heads)
	split := func(line string) []string {
		if sep == "," {
			return strings.Split(line, ",")
		}
		before, after, _ := strings.Cut(line, "|")
		return append([]string{before}, strings.Fields(after)...)
	}
	join := func(cells []string) string {
		if sep == "," {
			return strings.Join(cells, ",")
		}
		return cells[0] + "| " + strings.Join(cells[1:], " ")
	}
	cols := split(lines[head])
	if len(cols) < 3 {
		return
	}
	k := 1 + e.r.IntN(len(cols)-2)
	x, _ := strconv.ParseFloat(cols[k], 64)
	y, _ := strconv.ParseFloat(cols[k+1], 64)
	for i := head; i < len(lines) && strings.Contains(lines[i], sep); i++ {
		cells := split(lines[i])
		if len(cells) <= k {
			return
		}
		cell := map[string]string{"|": "_", ",": ""}[sep]
		if i == head {
			cell = strconv.FormatFloat((x+y)/2, 'f', -1, 64)
		} else if e.r.IntN(2) == 0 {
			cell = scaled(e, "10")
		}
		lines[i] = join(slices.Insert(cells, k+1, cell))
	}
	e.files[name] = strings.Join(lines, "\n")
}

// edit makes one to three edits, and says which.
func edit(r *rand.Rand, files map[string]string) (map[string]string, []string) {
	e := &editing{r: r, files: map[string]string{}}
	for n, text := range files {
		e.files[n] = text
	}
	var made []string
	for range 1 + r.IntN(3) {
		e.names, e.all = nil, nil
		for n := range e.files {
			e.all = append(e.all, n)
			if path.Ext(n) == ".fettle" {
				e.names = append(e.names, n)
			}
		}
		sort.Strings(e.names)
		sort.Strings(e.all)
		kind := kindsOfEdit[r.IntN(len(kindsOfEdit))]
		kind.make(e)
		made = append(made, kind.name)
	}
	return e.files, made
}
