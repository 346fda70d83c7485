package diff

import (
	"strconv"

	"fettle/lang/source"
)

// PlacesText says where something stands on both sides: "tune.fettle:52", with
// "(was :50)" where the old side has it elsewhere, "(new)" or "(taken out)"
// where one side alone has it.
func PlacesText(p [2]source.Span) string {
	old, new := p[0], p[1]
	switch {
	case old.IsZero() && new.IsZero():
		return ""
	case old.IsZero():
		return new.String() + " (new)"
	case new.IsZero():
		return old.String() + " (taken out)"
	case old.String() == new.String():
		return new.String()
	case old.File.Name == new.File.Name:
		return new.String() + " (was :" + strconv.Itoa(old.Line()) + ")"
	}
	return new.String() + " (was " + old.String() + ")"
}

// placesIn says where an element acts on a map, and where it stood before.
func (e *Element) placesIn(mapName string) string {
	at := e.PlaceIn(mapName)
	if e.Places[0].IsZero() || e.Places[1].IsZero() || at.String() != e.Places[1].String() {
		return at.String()
	}
	return PlacesText(e.Places)
}
