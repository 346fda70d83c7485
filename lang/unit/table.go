package unit

import (
	"math/big"
	"slices"
	"strings"
	"sync"
)

// Info is what the documentation says of a unit.
type Info struct {
	Name       string
	Unit       Unit
	Quantity   string // "mass", "pressure": consecutive rows share it
	Definition string // in other units: "0.45359237 kg"; a base unit's says so
	Source     string // where the definition comes from
}

// row defines a unit: a number and a unit's text made of rows above it, times pi to a power.
type row struct {
	quantity, name string
	def            string
	source         string
	pi             int
	zero           string // the place of a scale's zero, in K
	shown          string // the definition for readers, where def can't be read
}

const (
	si       = "SI Brochure, 9th edition"
	siUsed   = "SI Brochure, 9th edition, table 8: accepted for use with the SI"
	byCount  = "definition"
	yard     = "international yard and pound, 1959: exact"
	gravity  = "standard gravity 9.80665 m/s^2 (CGPM 1901): exact"
	sp811    = "NIST SP 811, appendix B.8 (named), number checked against GNU units"
	inPounds = "pound-force of " + gravity
)

const baseUnit = "base unit"

var rows = []row{
	{quantity: "mass", name: "kg", def: baseUnit, source: si},
	{quantity: "mass", name: "g", def: "1/1000 kg", source: si},
	{quantity: "mass", name: "mg", def: "1/1000 g", source: si},
	{quantity: "mass", name: "ug", def: "1/1000 mg", source: si},
	{quantity: "mass", name: "lb", def: "0.45359237 kg", source: yard},
	{quantity: "mass", name: "oz", def: "1/16 lb", source: yard},

	{quantity: "length", name: "m", def: baseUnit, source: si},
	{quantity: "length", name: "cm", def: "1/100 m", source: si},
	{quantity: "length", name: "mm", def: "1/1000 m", source: si},
	{quantity: "length", name: "um", def: "1/1000 mm", source: si},
	{quantity: "length", name: "km", def: "1000 m", source: si},
	{quantity: "length", name: "in", def: "25.4 mm", source: yard},
	{quantity: "length", name: "ft", def: "12 in", source: yard},
	{quantity: "length", name: "mi", def: "5280 ft", source: yard},

	{quantity: "time", name: "s", def: baseUnit, source: si},
	{quantity: "time", name: "ms", def: "1/1000 s", source: si},
	{quantity: "time", name: "us", def: "1/1000 ms", source: si},
	{quantity: "time", name: "min", def: "60 s", source: siUsed},
	{quantity: "time", name: "h", def: "60 min", source: siUsed},

	{quantity: "temperature", name: "K", def: baseUnit, source: si},
	{quantity: "temperature", name: "degC", def: "1 K", zero: "273.15", source: si,
		shown: "a point: its value + 273.15, in K"},
	{quantity: "temperature", name: "degF", def: "5/9 K", zero: "45967/180", source: sp811,
		shown: "a point: (its value + 459.67) * 5/9, in K"},

	{quantity: "angle", name: "rev", def: baseUnit, source: byCount},
	{quantity: "angle", name: "deg", def: "1/360 rev", source: byCount},
	{quantity: "angle", name: "rad", def: "1/2 rev", pi: -1, source: byCount, shown: "1/(2 pi) rev"},

	{quantity: "engine speed", name: "rpm", def: "1 rev/min", source: byCount},

	// Cycles of a signal, not turns of a crank: a frequency is a count over a time, so 100 Hz isn't 6000 rpm by itself.
	{quantity: "frequency", name: "Hz", def: "1 1/s", source: si, shown: "1/s, a count each second; turns are rev/s"},

	{quantity: "volume", name: "L", def: "1/1000 m^3", source: siUsed},
	{quantity: "volume", name: "mL", def: "1/1000 L", source: siUsed},
	{quantity: "volume", name: "cc", def: "1 cm^3", source: byCount},
	{quantity: "volume", name: "gal_us", def: "231 in^3", source: sp811},
	{quantity: "volume", name: "gal_uk", def: "4.54609 L", source: sp811},

	{quantity: "force", name: "N", def: "1 kg m/s^2", source: si},
	{quantity: "force", name: "kN", def: "1000 N", source: si},
	{quantity: "force", name: "kgf", def: "9.80665 N", source: gravity},
	{quantity: "force", name: "lbf", def: "9.80665 lb m/s^2", source: gravity},

	{quantity: "torque", name: "Nm", def: "1 N m", source: si},
	{quantity: "torque", name: "lbf_ft", def: "1 lbf ft", source: inPounds},

	{quantity: "pressure", name: "Pa", def: "1 N/m^2", source: si},
	{quantity: "pressure", name: "hPa", def: "100 Pa", source: si},
	{quantity: "pressure", name: "kPa", def: "1000 Pa", source: si},
	{quantity: "pressure", name: "MPa", def: "1000 kPa", source: si},
	{quantity: "pressure", name: "mbar", def: "100 Pa", source: sp811},
	{quantity: "pressure", name: "bar", def: "1000 mbar", source: sp811},
	{quantity: "pressure", name: "psi", def: "1 lbf/in^2", source: inPounds},
	{quantity: "pressure", name: "mmHg", def: "133.322387415 Pa", source: "conventional mercury, 13595.1 kg/m^3 under " + gravity},
	{quantity: "pressure", name: "inHg", def: "25.4 mmHg", source: "conventional mercury, 13595.1 kg/m^3 under " + gravity},
	{quantity: "pressure", name: "atm", def: "101325 Pa", source: "CGPM 1954: exact"},

	{quantity: "energy", name: "J", def: "1 N m", source: si},
	{quantity: "energy", name: "kJ", def: "1000 J", source: si},
	{quantity: "energy", name: "MJ", def: "1000 kJ", source: si},

	{quantity: "power", name: "W", def: "1 J/s", source: si},
	{quantity: "power", name: "kW", def: "1000 W", source: si},
	{quantity: "power", name: "hp", def: "550 lbf_ft/s", source: sp811},
	{quantity: "power", name: "PS", def: "75 kgf*m/s", source: sp811},

	{quantity: "electricity", name: "A", def: baseUnit, source: si},
	{quantity: "electricity", name: "V", def: "1 W/A", source: si},
	{quantity: "electricity", name: "mV", def: "1/1000 V", source: si},
	{quantity: "electricity", name: "ohm", def: "1 V/A", source: si},

	{quantity: "amount of substance", name: "mol", def: baseUnit, source: si},

	{quantity: "ratio", name: "%", def: "1/100", source: byCount},
}

type unitTable struct {
	infos  []Info
	byName map[string]Unit
	names  []string
}

// table works the rows out at the first use of a unit.
var table = sync.OnceValue(buildTable)

func buildTable() *unitTable {
	t := &unitTable{
		infos:  make([]Info, 0, len(rows)),
		byName: make(map[string]Unit, len(rows)),
		names:  make([]string, 0, len(rows)),
	}
	for _, r := range rows {
		u := r.unit(t)
		t.infos = append(t.infos, Info{r.name, u, r.quantity, r.definition(), r.source})
		t.byName[r.name] = u
		t.names = append(t.names, r.name)
	}
	slices.Sort(t.names)
	return t
}

// unit works a row out from the rows above it.
func (r row) unit(above *unitTable) Unit {
	u := Unit{Text: r.name}
	if r.def == baseUnit {
		u.Dim[slices.Index(baseSymbols[:], r.name)] = whole
		return u
	}
	number, text, _ := strings.Cut(r.def, " ")
	size, ok := new(big.Rat).SetString(number)
	if !ok {
		panic("unit " + r.name + ": a definition begins with a number")
	}
	u.Factor = Factor{size, r.pi}
	if text != "" {
		lookup := func(name string) (Unit, bool) { v, ok := above.byName[name]; return v, ok }
		of, err := parseWith(text, lookup, func(string) string { return "" })
		if err != nil {
			panic("unit " + r.name + ": " + err.Error())
		}
		u.Dim, u.Factor = of.Dim, of.Factor.Mul(u.Factor)
	}
	if r.zero != "" {
		u.Offset, _ = new(big.Rat).SetString(r.zero)
	}
	return u
}

func (r row) definition() string {
	switch {
	case r.shown != "":
		return r.shown
	case r.def == baseUnit:
		return baseUnit
	}
	return strings.TrimPrefix(r.def, "1 ")
}

// Lookup finds a unit by its name, letter case and all: one word, or "%".
func Lookup(name string) (Unit, bool) {
	u, ok := table().byName[name]
	return u, ok
}

// Names are the names of all units, sorted.
func Names() []string { return slices.Clone(table().names) }

// Table is every unit in the order of the documentation, grouped by quantity.
func Table() []Info { return slices.Clone(table().infos) }
