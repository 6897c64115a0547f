package toolset

import (
	"math"
	"net/url"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
)

// What the tools of barrel and mainspring share: fields, cautions, reading and wording.

func barrelFields() []Field {
	return []Field{
		{Name: "barrel_inside_diameter", Label: "Barrel inside", Unit: "mm", Kind: "number", Group: "Barrel"},
		{Name: "arbor_diameter", Label: "Arbor", Unit: "mm", Kind: "number", Group: "Barrel",
			Hint: "The core on which the spring winds."},
	}
}

func driveFields(group string) []Field {
	return []Field{
		{Name: "barrel_teeth", Label: "Barrel teeth", Kind: "number", Group: group},
		{Name: "centre_pinion_leaves", Label: "Leaves of the centre pinion", Kind: "number", Group: group},
	}
}

// fillBarrel is what a calibre knows of barrel, spring and drive.
func fillBarrel(c watch.Calibre) url.Values {
	v := url.Values{}
	setFigure(v, "barrel_inside_diameter", c.BarrelInsideDiameterMm)
	setFigure(v, "arbor_diameter", c.ArborDiameterMm)
	setFigure(v, "mainspring_width", c.MainspringWidthMm)
	setFigure(v, "mainspring_thickness", c.MainspringThicknessMm)
	setFigure(v, "mainspring_length", c.MainspringLengthMm)
	setFigure(v, "barrel_teeth", float64(c.BarrelTeeth))
	setFigure(v, "centre_pinion_leaves", float64(c.CentrePinionLeaves))
	return v
}

func setFigure(v url.Values, name string, x float64) {
	if x != 0 {
		v.Set(name, figure.Plain(x))
	}
}

// mainspringCautions are those of the work itself, which the diagnosis holds, and whose rules stand above them.
func mainspringCautions() []string {
	c := diagnosis.MainspringLetDown.Caution()
	return append(c.Usual, c.Defer, "Local rules and licensed practice stand above this.")
}

// springForm reads the fields that the barrel's tools share. What can't be read becomes NaN, which the domain refuses
// with the sentence of its range.
type springForm struct {
	v   url.Values
	bad map[string]string
}

func (f springForm) has(name string) bool { return strings.TrimSpace(f.v.Get(name)) != "" }

// mm reads a length; nothing typed is 0.
func (f springForm) mm(name string) float64 { return f.figure(name, "mm") }

// figure reads a number, with or without one of the units; nothing typed is 0.
func (f springForm) figure(name string, units ...string) float64 {
	if !f.has(name) {
		return 0
	}
	n, err := figure.Parse(f.v.Get(name), units...)
	if err != nil {
		return math.NaN()
	}
	return n.Float()
}

// failSpring adds problems of a spring read from the fields that begin so, and others beside them. A length that was to
// be worked out has no problem of its own while another figure has one.
func (f springForm) failSpring(bad map[string]string, prefix string) {
	if !f.has(prefix+"_length") && len(f.bad)+len(bad) > 1 {
		delete(bad, "mainspring_length")
	}
	for name, why := range bad {
		f.fail(map[string]string{strings.Replace(name, "mainspring", prefix, 1): why})
	}
}

// count reads a whole number; nothing typed is 0.
func (f springForm) count(name, of string) int {
	if !f.has(name) {
		return 0
	}
	n, err := figure.ParseWhole(f.v.Get(name))
	if err != nil {
		f.bad[name] = figure.Sentence(err, "Give the "+of+" as a whole number: a count has no fractions.")
	}
	return n
}

// fail adds problems; the first of a field stays.
func (f springForm) fail(more map[string]string) {
	for name, why := range more {
		if f.bad[name] == "" {
			f.bad[name] = why
		}
	}
}

func (f springForm) barrel() train.Barrel {
	b := train.Barrel{InsideDiameterMm: f.mm("barrel_inside_diameter"), ArborDiameterMm: f.mm("arbor_diameter"),
		HeightMm: f.mm("barrel_height")}
	f.fail(b.Problems())
	return b
}

// spring reads a spring of the fields that begin so.
func (f springForm) spring(prefix string) train.Mainspring {
	return train.Mainspring{WidthMm: f.mm(prefix + "_width"), ThicknessMm: f.mm(prefix + "_thickness"),
		LengthMm: f.mm(prefix + "_length")}
}

func (f springForm) drive() train.BarrelDrive {
	d := train.BarrelDrive{BarrelTeeth: f.count("barrel_teeth", "teeth"),
		CentrePinionLeaves: f.count("centre_pinion_leaves", "leaves")}
	f.fail(d.Problems())
	return d
}

func springSize(s train.Mainspring) string {
	size := placesText(s.ThicknessMm, 3) + " × " + placesText(s.LengthMm, 0) + " mm"
	if s.WidthMm > 0 {
		return placesText(s.WidthMm, 2) + " × " + size
	}
	return size
}

func fillWords(share float64) string {
	switch {
	case share < train.ShortFill:
		return "Less than the usual 40 to 60 %: turns are lost."
	case share > train.LongFill:
		return "More than the usual 40 to 60 %: turns are lost."
	}
	return "A half gives the most turns; 40 to 60 % costs less than a twentieth of them."
}

func toPlaces(x float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(x*p) / p
}

// placesText writes x rounded, with a typographic minus.
func placesText(x float64, places int) string {
	return figure.Places(toPlaces(x, places), places)
}

// signedPlaces is placesText with a plus before what is above zero.
func signedPlaces(x float64, places int) string {
	return figure.Signed(toPlaces(x, places), places)
}

// wholePercent writes a share in whole percents.
func wholePercent(share float64) string { return placesText(100*share, 0) + " %" }
