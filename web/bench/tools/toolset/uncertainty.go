package toolset

import (
	"cmp"
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/chart"
)

// The bounds of what this tool takes.
const (
	uncertaintyParts    = 4
	uncertaintyReadings = 100
	uncertaintyMost     = 1e9 // of any figure
)

// contributionKinds are the ways in which a contribution to an uncertainty is known, and how each becomes a standard
// uncertainty.
var contributionKinds = []struct {
	key, words string
	standard   func(float64) float64
}{
	{"standard", "standard uncertainty", func(u float64) float64 { return u }},
	{"expanded", "expanded uncertainty, k = 2", func(u float64) float64 { return u / metrology.CoverageFactor }},
	{"within", "anywhere within ± this", metrology.FromHalfWidth},
	{"step", "least step of a display", metrology.FromResolution},
}

// uncertaintyTool combines what makes a figure uncertain, and decides whether the figure keeps its limits.
func uncertaintyTool() Tool {
	kinds := make([][2]string, len(contributionKinds))
	for i, k := range contributionKinds {
		kinds[i] = [2]string{k.key, k.words}
	}
	t := Tool{
		Slug: "uncertainty", Title: "Uncertainty and decision",
		Purpose: "Puts together what makes a figure uncertain, and says whether the figure keeps its limits.",
		Fields: []Field{
			{Name: "what", Label: "What was measured", Kind: "text", Group: "The figure", Hint: "As in mean rate, or end " +
				"shake of the third wheel."},
			{Name: "unit", Label: "Unit", Kind: "text", Group: "The figure", Default: "s/d"},
			{Name: "figure", Label: "Figure", Kind: "number", Group: "The figure",
				Hint: "Left empty, the mean of the readings."},
			{Name: "readings", Label: "Repeated readings", Kind: "textarea", Group: "The figure",
				Hint: "Two or more, taken independently, parted by blanks or lines. Their spread is one of the contributions."},
		},
		Solve: solveUncertainty,
		Formulas: []Formula{
			{Text: "u = √(u₁² + u₂² + …)", Source: "JCGM 100:2008, 5.1.2, with sensitivities of one.",
				Limits: "For contributions that are independent and in the figure’s own unit."},
			{Text: "u = s ÷ √n from n readings; a ÷ √3 from bounds ± a; d ÷ √12 from a display’s step d; U ÷ 2 from an " +
				"expanded uncertainty", Source: "JCGM 100:2008, 4.2.3, 4.3.7, F.2.2.1 and 6.2.1.",
				Limits: "From few readings s itself is uncertain: with five of them by about a third."},
			{Text: "U = 2 u", Source: "JCGM 100:2008, 6.3.3.", Limits: "About 95 % where the combination is near normal; not " +
				"where one bounded contribution outweighs the rest."},
			{Text: "pass if the figure ± U lies inside the limits, fail if it lies outside, otherwise undecided",
				Source: "JCGM 106:2012, 8.3; simple acceptance 8.2.",
				Limits: "The probability takes the figure as normally distributed (JCGM 106, 7.2 to 7.4)."},
		},
	}
	for i := 1; i <= uncertaintyParts; i++ {
		n, group := strconv.Itoa(i), "Contribution "+strconv.Itoa(i)
		t.Fields = append(t.Fields,
			Field{Name: "part" + n, Label: "What it is", Kind: "text", Group: group},
			Field{Name: "size" + n, Label: "Size", Kind: "number", Group: group},
			Field{Name: "kind" + n, Label: "Known as", Kind: "select", Group: group, Options: kinds, Default: "within"})
	}
	t.Fields = append(t.Fields,
		Field{Name: "lower", Label: "Not below", Kind: "number", Group: "Limits"},
		Field{Name: "upper", Label: "Not above", Kind: "number", Group: "Limits"},
		Field{Name: "rule", Label: "Decided", Kind: "select", Group: "Limits", Default: "guarded",
			Options: [][2]string{{"guarded", "with a guard band of U"}, {"simple", "by the figure alone"}}})
	return t
}

// contribution is one thing that makes a figure uncertain.
type contribution struct {
	name, given string
	standard    float64
}

// benchReader reads figures of a tool's form and notes what is wrong with them.
type benchReader struct {
	v   url.Values
	bad map[string]string
}

// figure reads a number, with or without the unit that the form names; ok is false where nothing was typed, or nothing
// readable.
func (r benchReader) figure(name string) (x float64, ok bool) {
	typed := strings.TrimSpace(r.v.Get(name))
	if typed == "" {
		return 0, false
	}
	x, ok = readFigure(typed, strings.TrimSpace(r.v.Get("unit")))
	if !ok {
		r.bad[name] = "Give a number, such as 3.5."
	}
	return x, ok
}

// readFigure reads a number that is not beyond use.
func readFigure(typed string, units ...string) (float64, bool) {
	n, err := figure.Parse(typed, units...)
	return n.Float(), err == nil && math.Abs(n.Float()) <= uncertaintyMost
}

func solveUncertainty(v url.Values) (Answer, map[string]string) {
	r := benchReader{v, map[string]string{}}
	unit := strings.TrimSpace(v.Get("unit"))
	value, parts := r.value(unit)
	limits := r.limits()
	parts = append(parts, r.contributions(unit)...)
	if len(parts) == 0 && len(r.bad) == 0 {
		r.bad["size1"] = "Give at least one contribution, or repeated readings."
	}
	if len(r.bad) > 0 {
		return Answer{}, r.bad
	}
	standards := make([]float64, len(parts))
	for i, p := range parts {
		standards[i] = p.standard
	}
	y := metrology.Value{Value: value, StdUncertainty: metrology.Quadrature(standards...), Unit: unit}
	return uncertaintyAnswer(r, y, parts, limits), nil
}

// value is the figure as typed, or the mean of the readings, whose spread is a contribution.
func (r benchReader) value(unit string) (float64, []contribution) {
	figure, typed := r.figure("figure")
	words := strings.FieldsFunc(r.v.Get("readings"), func(c rune) bool {
		return c == ' ' || c == '\n' || c == '\t' ||
			c == ';'
	})
	if len(words) == 0 {
		if !typed && r.bad["figure"] == "" {
			r.bad["figure"] = "Give the figure, or two readings or more."
		}
		return figure, nil
	}
	var readings []float64
	for _, w := range words {
		x, ok := readFigure(w)
		if !ok {
			r.bad["readings"] = "“" + w + "” is no number. Part the readings by blanks or lines."
			return figure, nil
		}
		readings = append(readings, x)
	}
	if len(readings) > uncertaintyReadings {
		r.bad["readings"] = "Give at most 100 readings."
		return figure, nil
	}
	mean, err := metrology.FromObservations(readings, unit)
	if err != nil {
		r.bad["readings"] = "Give at least two readings: one alone shows no spread."
		return figure, nil
	}
	if !typed {
		figure = mean.Value
	}
	return figure, []contribution{{fmt.Sprintf("Spread of %d readings", len(readings)), "standard deviation of their mean",
		mean.StdUncertainty}}
}

func (r benchReader) contributions(unit string) []contribution {
	var parts []contribution
	for i := 1; i <= uncertaintyParts; i++ {
		n := strconv.Itoa(i)
		size, ok := r.figure("size" + n)
		name := strings.TrimSpace(r.v.Get("part" + n))
		switch {
		case r.bad["size"+n] != "":
		case !ok && name != "":
			r.bad["size"+n] = "Give the size of this contribution."
		case ok && size < 0:
			r.bad["size"+n] = "Give its size as zero or more: it reaches as far up as down."
		case ok:
			parts = append(parts, r.contribution(n, cmp.Or(name, "Contribution "+n), size, unit))
		}
	}
	return parts
}

func (r benchReader) contribution(n, name string, size float64, unit string) contribution {
	for _, k := range contributionKinds {
		if k.key == r.v.Get("kind"+n) {
			return contribution{name, metrology.Value{Value: size, Unit: unit}.Format() + ", " + k.words, k.standard(size)}
		}
	}
	r.bad["kind"+n] = "Choose how this contribution is known."
	return contribution{}
}

func (r benchReader) limits() metrology.Limits {
	var l metrology.Limits
	if x, ok := r.figure("lower"); ok {
		l.Lower = &x
	}
	if x, ok := r.figure("upper"); ok {
		l.Upper = &x
	}
	if l.Lower != nil && l.Upper != nil && *l.Lower > *l.Upper {
		r.bad["upper"] = "Give an upper limit that is not below the lower one."
	}
	if rule := r.v.Get("rule"); rule != "guarded" && rule != "simple" {
		r.bad["rule"] = "Choose how it is decided."
	}
	return l
}

func uncertaintyAnswer(r benchReader, y metrology.Value, parts []contribution, limits metrology.Limits) Answer {
	exact := func(x float64) string { return metrology.Value{Value: figure.Significant(x, 3), Unit: y.Unit}.Format() }
	table := Table{Caption: "Contributions", Head: []string{"Contribution", "As given", "Standard uncertainty", "Share"}}
	for _, p := range parts {
		share := 0.0
		if y.StdUncertainty > 0 {
			share = 100 * p.standard * p.standard / (y.StdUncertainty * y.StdUncertainty)
		}
		table.Rows = append(table.Rows, []string{p.name, p.given, exact(p.standard), strconv.FormatFloat(share, 'f', 0, 64) +
			" %"})
	}
	what := text.Capital(cmp.Or(strings.TrimSpace(r.v.Get("what")), "The figure"))
	a := Answer{
		Rows: []Row{
			{Label: what, Value: y.FormatSigned(), Note: "The figure after ± is the expanded uncertainty U (k = 2)."},
			{Label: "Combined standard uncertainty", Value: exact(y.StdUncertainty)},
			{Label: "Expanded uncertainty U", Value: exact(y.Expanded())},
		},
		Tables:  []Table{table},
		Finding: what + " is " + y.FormatSigned() + " (k = 2).",
	}
	if limits.Lower == nil && limits.Upper == nil {
		return a
	}
	return decided(a, r, what, y, limits)
}

// decided adds to an answer whether the figure keeps its limits.
func decided(a Answer, r benchReader, what string, y metrology.Value, limits metrology.Limits) Answer {
	rule := metrology.Guarded
	if r.v.Get("rule") == "simple" {
		rule = metrology.Simple
	}
	verdict, inside := metrology.Decide(y, limits, rule)
	bounds := limitWords(limits, y.Unit)
	a.Rows = append(a.Rows,
		Row{Label: "Against the limits", Value: verdict.String(), Note: text.Sentence(rule.String())},
		Row{Label: "Probability that it lies inside them", Value: probabilityWords(inside)})
	a.Finding = fmt.Sprintf("%s is %s (k = 2): %s, %s.", what, y.FormatSigned(), verdict, bounds)
	a.Drawing = chart.CriterionRoom{ID: "bench-limits", Title: what, Value: &y, Limits: limits, Verdict: verdict,
		RoomText: verdict.String()}
	return a
}

func limitWords(l metrology.Limits, unit string) string {
	one := func(x float64) string { return metrology.Value{Value: x, Unit: unit}.Format() }
	switch {
	case l.Upper == nil:
		return "not below " + one(*l.Lower)
	case l.Lower == nil:
		return "not above " + one(*l.Upper)
	}
	return "from " + metrology.Value{Value: *l.Lower}.Format() + " to " + one(*l.Upper)
}

// probabilityWords prints a probability to whole per cent, and says where it is beyond them.
func probabilityWords(p float64) string {
	switch percent := 100 * p; {
	case percent < 1:
		return "under 1 %"
	case percent > 99:
		return "over 99 %"
	default:
		return strconv.FormatFloat(percent, 'f', 0, 64) + " %"
	}
}
