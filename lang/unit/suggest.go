package unit

import (
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

// spellings are other ways to write a unit that people bring along, in lower case.
var spellings = sync.OnceValue(func() map[string]string {
	return map[string]string{
		"c": "degC", "°c": "degC", "℃": "degC", "celsius": "degC", "f": "degF", "°f": "degF", "℉": "degF", "fahrenheit": "degF",
		"kelvin": "K", "°": "deg", "degree": "deg", "degrees": "deg", "radian": "rad", "radians": "rad",
		"turn": "rev", "revolution": "rev", "rpms": "rpm", "percent": "%", "pct": "%", "hertz": "Hz",
		"sec": "s", "second": "s", "seconds": "s", "msec": "ms", "usec": "us", "µs": "us", "μs": "us",
		"minute": "min", "minutes": "min", "mins": "min", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
		"gram": "g", "grams": "g", "gr": "g", "kilo": "kg", "kgs": "kg", "µg": "ug", "μg": "ug", "mcg": "ug",
		"lbs": "lb", "lbm": "lb", "pound": "lb", "pounds": "lb", "ounce": "oz",
		"meter": "m", "metre": "m", "meters": "m", "metres": "m", "µm": "um", "μm": "um", "micron": "um",
		"inch": "in", "inches": "in", "ins": "in", "foot": "ft", "feet": "ft", "mile": "mi", "miles": "mi",
		"liter": "L", "litre": "L", "liters": "L", "litres": "L", "ltr": "L", "ccm": "cc", "gal": "gal_us", "gallon": "gal_us",
		"newton": "N", "pascal": "Pa", "mb": "mbar", "torr": "mmHg", "psia": "psi", "psig": "psi",
		"watt": "W", "watts": "W", "bhp": "hp", "whp": "hp", "horsepower": "hp", "cv": "PS", "pk": "PS", "joule": "J",
		"lbft": "lbf_ft", "lb_ft": "lbf_ft", "ftlb": "lbf_ft", "ft_lb": "lbf_ft", "ft_lbf": "lbf_ft", "ftlbf": "lbf_ft", "lbfft": "lbf_ft",
		"volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "ω": "ohm", "ohms": "ohm", "mole": "mol",
		"mph": "mi/h", "kph": "km/h", "kmh": "km/h", "fps": "ft/s", "rps": "rev/s", "ccs": "cc",
	}
})

var raised = strings.NewReplacer("²", "2", "³", "3", "¹", "1", "⁻", "-", "^", "")

// Suggest is the unit nearest to a name that isn't one, by letter case, by another spelling of it, by a forgotten `^`,
// or by a letter or two; "" when none is near. What it gives can be parsed.
func Suggest(name string) string {
	if name == "" || len(name) > 40 {
		return ""
	}
	if _, ok := Lookup(name); ok {
		return name
	}
	for _, n := range Names() {
		if strings.EqualFold(n, name) {
			return n
		}
	}
	low := strings.ToLower(name)
	if s, ok := spellings()[low]; ok {
		return s
	}
	if s := suggestPower(name); s != "" {
		return s
	}
	return nearest(low)
}

// suggestPower reads "m3" and "m³" as m^3.
func suggestPower(name string) string {
	flat := raised.Replace(name)
	stem := strings.TrimRight(flat, "0123456789")
	stem = strings.TrimSuffix(stem, "-")
	if stem == flat || stem == "" {
		return ""
	}
	if text := stem + "^" + flat[len(stem):]; isUnit(text) {
		return text
	}
	return ""
}

func isUnit(text string) bool {
	_, err := Parse(text)
	return err == nil
}

// nearest is the name at the smallest distance. Short names have too many neighbours for a guess to help.
func nearest(low string) string {
	n := utf8.RuneCountInString(low)
	if n < 3 {
		return ""
	}
	limit := 1
	if n >= 5 {
		limit = 2
	}
	best, bestAt := "", 2*limit+2
	for _, name := range Names() {
		if utf8.RuneCountInString(name) < 2 {
			continue
		}
		at := 2 * distance([]rune(low), []rune(strings.ToLower(name)))
		if utf8.RuneCountInString(name) != n {
			at++ // among equals, a changed or swapped letter is likelier than a lost one
		}
		if at < bestAt {
			best, bestAt = name, at
		}
	}
	return best
}

// distance counts the letters to add, leave out, change or swap with their neighbour (optimal string alignment).
func distance(a, b []rune) int {
	var before, last []int
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		before, last = last, slices.Clone(row)
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
	}
	return row[len(b)]
}
