package toolset

import (
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
)

// missingShown is how many answers the table lists; each is in the count that stands above it.
const missingShown = 8

// missingTool finds the counts of missing wheels and pinions.
func missingTool() Tool {
	t := Tool{
		Slug: "missing-wheel", Title: "Missing wheel or pinion", Component: diagnosis.Train,
		Purpose: "Finds one or two missing counts of a train or a motion work, every whole-number answer, with the sizes " +
			"to cut or order by.",
		Fields: []Field{
			{Name: "train", Label: "Train", Group: "The counts", Hint: "With ? for each missing count, as " +
				"80:10,?:10,80:?,15: wheel:pinion that it drives, last the escape wheel."},
			{Name: "motion_work", Label: "Or motion work", Group: "The counts", Hint: "Cannon pinion:minute wheel,minute " +
				"pinion:hour wheel, as 12:36,?:40. Only one of both may have a ?."},
			{Name: "dial_hours", Label: "Hours on the dial", Kind: "select", Group: "The counts", Default: "12",
				Options: [][2]string{{"12", "12"}, {"24", "24"}}},
			{Name: "beats_per_hour", Label: "Beats per hour", Kind: "number", Group: "What the train must give",
				Hint: "Left empty, the usual beats are tried."},
			{Name: "seconds", Label: "Seconds hand", Kind: "select", Group: "What the train must give", Default: "once",
				Options: [][2]string{{"once", "once a minute, if any"}, {"free", "not asked"}}},
		},
		Solve: solveMissing, Fill: fillMissing,
		Formulas: missingFormulas(),
		Cautions: []string{
			"Let the mainspring down before a wheel of the train is taken out: the train runs away under power.",
			"Wear eye protection when cutting, turning or grinding; follow local rules and licensed practice for machines, " +
				"oils and dust.",
		},
	}
	for i, which := range []string{"first", "second"} {
		group := "Measured at the mesh of the " + which + " missing count"
		hint := ""
		if i == 1 {
			hint = "Leave this group empty where both counts are in one mesh."
		}
		t.Fields = append(t.Fields,
			Field{Name: which + "_centres", Label: "Distance of centres", Unit: "mm", Kind: "number", Group: group, Hint: hint},
			Field{Name: which + "_wheel_outside", Label: "Wheel over the tips", Unit: "mm", Kind: "number", Group: group},
			Field{Name: which + "_pinion_outside", Label: "Pinion over the tips", Unit: "mm", Kind: "number", Group: group})
	}
	const last = "Measuring and choosing"
	t.Fields = append(t.Fields,
		Field{Name: "length_u", Label: "Standard uncertainty of a length", Unit: "mm", Kind: "number", Group: last,
			Default: "0.01"},
		Field{Name: "pick", Label: "Answer to look at and to keep", Kind: "number", Group: last, Default: "1",
			Hint: "Its number in the table of answers."})
	return t
}

func missingFormulas() []Formula {
	return []Formula{
		{Text: "beats per hour = 2 · escape teeth · wheels ÷ pinions · turns per hour of the second wheel; one missing " +
			"count follows from the rest by division and is an answer if it is whole",
			Source: "The train formula of the trade’s handbooks, in exact fractions.",
			Limits: fmt.Sprintf("Wheels of %d to %d teeth, pinions of %d to %d leaves, escape wheels of %d to %d teeth "+
				"(common practice). Usual beats: %s.",
				train.MinTeeth, train.MaxTeeth, train.MinLeaves, train.MaxLeaves, train.LeastEscapeTeeth, train.MostEscapeTeeth,
				usualBeatWords())},
		{Text: "minute wheel ÷ cannon pinion · hour wheel ÷ minute pinion = 12, or 24", Source: "The motion work formula " +
			"of the trade’s handbooks.",
			Limits: "Both meshes share one distance of centres, so unequal sums of counts mean unequal modules."},
		{Text: "m = 2 a ÷ (z₁ + z₂) = outside diameter ÷ (z + 2 h); pitch p = π m; pitch diameter d = m z",
			Source: "Definitions of gearing; every figure measured is weighted by its uncertainty.",
			Limits: "A wheel and a pinion mesh only with one module. Figures whose modules differ by more than chance put an " +
				"answer back."},
		{Text: "h, the addendum: for a driving wheel 95 % of the epicycloidal tooth’s height to its point; leaves 0.855 m " +
			"up to 7, 0.67 m for 8 and 9, 0.525 m for 10, 0.625 m beyond",
			Source: "BS 978 Part 2, cycloidal type gears; NIHS 20-01 and 20-02 resemble it. The standards’ texts were not " +
				"seen: the wheel’s is computed and agrees with the published table to 0.001 m, the leaves’ and those of motion " +
				"work are as others give them and from memory.",
			Limits: "Old work follows no standard: an addendum is taken as uncertain by 0.1 m (standard uncertainty). " +
				"Compare with what is left of the old part before you cut."},
		{Text: "The order of answers: usual counts, ratios and beats, once-a-minute seconds, and how well the figures " +
			"measured agree, as factors multiplied",
			Source: "Common practice; the factors are a judgement.",
			Limits: "It orders answers and is no probability. Each answer is exact in its counts. One that would hardly ever " +
				"be cut is said to be so, even where no other gives the beat, and is not offered as a part."},
	}
}

func usualBeatWords() string {
	var words []string
	for _, b := range train.UsualBeats() {
		words = append(words, strconv.Itoa(b))
	}
	return strings.Join(words, ", ")
}

func fillMissing(c watch.Calibre) url.Values {
	v := url.Values{"train": {c.Train}, "motion_work": {c.MotionWork}}
	if c.BeatsPerHour != 0 && c.Train != "" {
		v.Set("beats_per_hour", strconv.Itoa(c.BeatsPerHour))
	}
	if c.DialHours != 0 {
		v.Set("dial_hours", strconv.Itoa(c.DialHours))
	}
	return v
}

func solveMissing(v url.Values) (Answer, map[string]string) {
	r := benchReader{v, map[string]string{}}
	q := readMissing(r)
	pick := r.count("pick", 1)
	if len(r.bad) == 0 {
		problems := q.Problems()
		for _, field := range slices.Sorted(maps.Keys(problems)) {
			r.refuse(q, field, problems[field])
		}
	}
	if len(r.bad) > 0 {
		return Answer{}, r.bad
	}
	f := q.Find()
	if len(f.Answers) == 0 {
		return noneMissing(q, f), nil
	}
	if at, says, misfit := f.Misfit(); misfit {
		return Answer{}, map[string]string{r.measuredField(at): says}
	}
	if pick < 1 || pick > len(f.Answers) {
		return Answer{}, map[string]string{"pick": fmt.Sprintf("There are %d answers: give a number from 1 to %d.",
			len(f.Answers), len(f.Answers))}
	}
	return foundMissing(q, f, pick-1), nil
}

// measuredField is the field of what was measured at a missing count's mesh that a misfit stands beside: the pinion's
// diameter, which is the hardest to measure, or else what was given.
func (r benchReader) measuredField(at int) string {
	groups := []string{"first", "second"}
	for _, which := range []string{groups[at], groups[1-at]} {
		for _, name := range []string{"_pinion_outside", "_wheel_outside", "_centres"} {
			if strings.TrimSpace(r.v.Get(which+name)) != "" {
				return which + name
			}
		}
	}
	return "length_u"
}

// count reads a whole number.
func (r benchReader) count(name string, empty int) int {
	typed := r.v.Get(name)
	if figure.Blank(typed) {
		return empty
	}
	n, err := figure.ParseWhole(typed)
	if err != nil || n < 1 || n > 1e6 {
		r.bad[name] = figure.Sentence(err, "Give a whole number, 1 or more.")
		return empty
	}
	return n
}

// refuse notes a problem of the domain beside the field of the page that it is about. The single counts are all typed
// in one field here.
func (r benchReader) refuse(q train.Missing, field, says string) {
	own := []string{"beats_per_hour", "dial_hours", "length_u"}
	if !slices.Contains(own, field) && !strings.HasPrefix(field, "first_") && !strings.HasPrefix(field, "second_") {
		field = "train"
		if q.Motion != nil {
			field = "motion_work"
		}
	}
	if r.bad[field] != "" {
		says = r.bad[field] + " " + says
	}
	r.bad[field] = says
}

// readMissing reads the question. Which of train and motion work has a ? says what is asked.
func readMissing(r benchReader) train.Missing {
	var q train.Missing
	wheels, motion := r.v.Get("train"), strings.TrimSpace(r.v.Get("motion_work"))
	gapT, gapM := strings.Contains(wheels, "?"), strings.Contains(motion, "?")
	var wrong *train.NotationError
	switch {
	case gapT && gapM:
		r.bad["motion_work"] = "Ask for one at a time: put a ? into the train or into the motion work."
	case gapM || strings.TrimSpace(wheels) == "" && motion != "":
		m, err := train.ParseMotionWork(motion)
		if errors.As(err, &wrong) {
			r.bad["motion_work"] = wrong.Reason
		}
		q.Motion = &m
	default:
		t, err := train.ParseMissing(wheels)
		if errors.As(err, &wrong) {
			r.bad["train"] = wrong.Reason
		}
		q.Train = t
	}
	q.BeatsPerHour, q.DialHours = r.count("beats_per_hour", 0), r.count("dial_hours", 12)
	q.SecondsOnceAMinute = r.v.Get("seconds") != "free" && q.Motion == nil && len(r.bad) == 0 && q.CarriesSeconds()
	for i, which := range []string{"first_", "second_"} {
		d := &q.Measured[i]
		d.CentreDistanceMm, d.WheelOutsideMm, d.PinionOutsideMm = r.length(which+"centres"), r.length(which+"wheel_outside"),
			r.length(which+"pinion_outside")
	}
	q.LengthUM = r.length("length_u")
	return q
}

// length reads millimetres; a 0 that was typed is refused, since 0 is what is not known.
func (r benchReader) length(name string) float64 {
	x, typed := r.figure(name)
	if typed && x == 0 {
		r.bad[name] = "A length is above 0: leave it empty where it was not measured."
	}
	return x
}
