// Package watch holds what is known of a watch: its makers and serials, what
// it is made of, how it looked when it came in, and its calibre.
package watch

import (
	"strings"

	"ledgerwheel/domain/text"
)

// Lume is the luminous material on dial and hands.
type Lume string

// The luminous materials. LumeUnknown is the zero value: until someone has
// looked, a watch is not known to be free of radium.
const (
	LumeUnknown          Lume = ""
	LumeNone             Lume = "none"
	LumeRadium           Lume = "radium"
	LumeTritiumPaint     Lume = "tritium-paint"
	LumeTritiumTubes     Lume = "tritium-tubes"
	LumePromethium       Lume = "promethium"
	LumePhotoluminescent Lume = "photoluminescent"
)

// Lumes lists every Lume in the order a form shows them.
var Lumes = []Lume{LumeUnknown, LumeNone, LumePhotoluminescent, LumeTritiumPaint, LumeTritiumTubes, LumePromethium,
	LumeRadium}

var lumeWords = map[Lume]string{
	LumeUnknown:          "not known",
	LumeNone:             "none",
	LumeRadium:           "radium paint",
	LumeTritiumPaint:     "tritium paint",
	LumeTritiumTubes:     "tritium gas tubes",
	LumePromethium:       "promethium paint",
	LumePhotoluminescent: "photoluminescent (modern, not radioactive)",
}

// Words says l in plain words.
func (l Lume) Words() string { return wordOr(lumeWords[l], string(l)) }

// Winding is what drives the watch.
type Winding string

// The ways a watch is driven. WindingUnknown is the zero value.
const (
	WindingUnknown   Winding = ""
	WindingHand      Winding = "hand"
	WindingAutomatic Winding = "automatic"
	WindingCell      Winding = "cell"
)

// Windings lists every Winding in the order a form shows them.
var Windings = []Winding{WindingUnknown, WindingHand, WindingAutomatic, WindingCell}

var windingWords = map[Winding]string{
	WindingUnknown:   "not known",
	WindingHand:      "hand wound",
	WindingAutomatic: "automatic",
	WindingCell:      "electric, by a cell",
}

// Words says w in plain words.
func (w Winding) Words() string { return wordOr(windingWords[w], string(w)) }

// CaseMaterials and Straps are offered on the form; other words may be typed.
var (
	CaseMaterials = []string{
		"stainless steel", "yellow gold", "white gold", "rose gold", "rolled gold", "gold plated",
		"silver", "platinum", "titanium", "bronze", "brass", "nickel alloy", "chromed base metal",
		"ceramic", "carbon composite", "plastic",
	}
	Straps = []string{
		"none", "leather strap", "fabric strap", "rubber strap", "steel bracelet", "gold bracelet",
		"titanium bracelet", "mesh bracelet", "expanding bracelet", "chain", "fob",
	}
)

// Where the crown sits, as the hour of the dial it points to.
const (
	CrownAtThree  = 3  // most wrist watches
	CrownAtTwelve = 12 // most pocket watches
)

// MaxText and MaxNote are the longest values that may be saved, in characters.
const (
	MaxText = 120
	MaxNote = 2000
)

// Watch is one watch, known again by its serials whenever it comes back.
type Watch struct {
	ID                    int64 // 0 until saved
	Maker                 string
	Model                 string
	Reference             string
	Serial                string // of the case, as engraved
	MovementSerial        string
	CalibreID             int64  // 0 when the calibre is not in the shop's list
	CalibreName           string // as typed, empty when not known
	CaseMaterial          string
	Strap                 string
	Lume                  Lume
	Winding               Winding
	WaterResistanceMarked string  // as marked on the watch, such as "5 bar"; empty when nothing is marked
	OverpressureBar       float64 // what the mark claims, bar; 0 when it claims nothing or can't be read
	CrownAt               int     // hour of the dial, 1 to 12
	Notes                 string
}

// Tidied returns w with stray spaces and control characters removed, the
// claimed overpressure worked out from the mark, and the crown at 3 unless said.
func (w Watch) Tidied() Watch {
	for _, field := range []*string{
		&w.Maker, &w.Model, &w.Reference, &w.Serial, &w.MovementSerial, &w.CalibreName,
		&w.CaseMaterial, &w.Strap, &w.WaterResistanceMarked,
	} {
		*field = text.Line(*field)
	}
	w.Notes = text.Lines(w.Notes)
	w.OverpressureBar, _ = ParseWaterMark(w.WaterResistanceMarked)
	if w.CrownAt == 0 {
		w.CrownAt = CrownAtThree
	}
	return w
}

// Problems says, by form field, what stops w being saved. Call it on a Tidied
// watch.
func (w Watch) Problems() map[string]string {
	bad := map[string]string{}
	if w.Maker == "" {
		bad["maker"] = "Give the maker, or 'unsigned' if the watch bears no name."
	}
	for field, typed := range map[string]string{
		"maker": w.Maker, "model": w.Model, "reference": w.Reference, "serial": w.Serial,
		"movement_serial": w.MovementSerial, "calibre": w.CalibreName, "case_material": w.CaseMaterial,
		"strap": w.Strap, "water_resistance": w.WaterResistanceMarked,
	} {
		if text.TooLong(typed, MaxText) {
			bad[field] = "Keep this to at most 120 characters."
		}
	}
	if text.TooLong(w.Notes, MaxNote) {
		bad["notes"] = "Keep this to at most 2000 characters."
	}
	if _, ok := lumeWords[w.Lume]; !ok {
		bad["lume"] = "Choose one of the luminous materials listed."
	}
	if _, ok := windingWords[w.Winding]; !ok {
		bad["winding"] = "Choose one of the ways of winding listed."
	}
	if _, err := ParseWaterMark(w.WaterResistanceMarked); err != nil {
		bad["water_resistance"] = "Give the mark as figure and unit, such as '5 bar' or '50 m', or leave it empty."
	}
	if w.CrownAt < 1 || w.CrownAt > 12 {
		bad["crown_at"] = "Give the hour at which the crown sits: 3 on most wrist watches, 12 on most pocket watches."
	}
	return bad
}

// Title names w in one line: maker, model and reference as far as known.
func (w Watch) Title() string {
	return strings.Join(strings.Fields(w.Maker+" "+w.Model+" "+w.Reference), " ")
}

func wordOr(word, otherwise string) string {
	if word == "" {
		return otherwise
	}
	return word
}
