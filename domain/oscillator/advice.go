package oscillator

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Figure is a named figure of a finding.
type Figure struct {
	Label  string
	Value  metrology.Value
	Signed bool
}

// Advice is one entry of the ranked list. All texts are sentences for a page.
type Advice struct {
	Kind Kind
	// Row tells apart two entries of one kind; it names the entry on a page.
	Row        string
	Title      string
	Seen       string   // what is seen
	Evidence   []string // the readings that speak for it, and against it
	Cause      string   // likely cause
	Correction string
	Cautions   []string
	Suspicion  bool // a pattern only: to be checked before anything is done
	// RemovesMetal is advice that takes mass off the balance or moves it there.
	RemovesMetal bool
	// After is the step that has to be settled first, "" for none: till then this entry is not acted on.
	After    Kind
	Figures  []Figure
	Forecast *Forecast // nil when no rates can be foretold for it

}

// Report is all that the page of a run shows.
type Report struct {
	Fit    *Fit
	Run    int              // the occasion advised on: the last
	Judged timing.Judgement // with the uncertainty that the advice goes by
	Next   Next
	Advice []Advice
	// PoiseGiven reports whether size and bearing of the run's heavy spot mean something.
	PoiseGiven bool
	// PoiseWithheld says why no heavy spot is to be corrected, "" when one may be.
	PoiseWithheld string
	// Regulate is what to add to the mean rate at full wind, s/d; nil while it cannot be told.
	Regulate *metrology.Value
	// All is the forecast with every correction of the list done; nil when none has a forecast.
	All *Forecast
	// Against compares this run with what was expected after the run before; nil for a first run.
	Against *Comparison
	Gaps    []Gap
	Wild    []Wild
}

// Advise fits the runs and advises on the last one.
func Advise(occasions []Occasion, o Options) (Report, error) {
	o.Instruments.LiftAngleRel = o.liftRel()
	occasions = o.Known.applied(occasions)
	near := connected(occasions)
	f, err := FitRuns(near, o)
	if err != nil {
		return Report{}, err
	}
	run := len(near) - 1
	out := Report{Fit: f, Run: run, Gaps: f.GapsOf(run)}
	for _, w := range f.Wild {
		if w.Run == run {
			out.Wild = append(out.Wild, w)
		}
	}
	a, err := newAdviser(f, run, len(occasions)-1)
	if err != nil {
		return Report{}, err
	}
	out.Judged = a.judged
	out.Advice = a.list()
	out.Next = a.next(out.Advice)
	out.All = a.all(out.Advice)
	out.PoiseWithheld = a.withheld(out.Advice)
	if !unsure(out.Advice) {
		out.Regulate = a.regulateBy()
		out.PoiseGiven = a.r.PoiseKnown && a.r.Poise.Significant && !a.onlyNeutral()
	}
	if len(occasions) > 1 {
		if err := out.compare(occasions, o); err != nil {
			return Report{}, err
		}
	}
	return out, nil
}

// mostRuns is how many runs before the last still speak: what is older has little to add.
const mostRuns = 4

// connected returns the last run with those before it that share a spring, a poise or a train with it.
func connected(occasions []Occasion) []Occasion {
	first := max(0, len(occasions)-mostRuns)
	for i := len(occasions) - 1; i > first; i-- {
		if occasions[i].changes().Everything {
			first = i
		}
	}
	return occasions[first:]
}

// compare sets this run against what the run before led to expect. What was done in between is not recorded in
// figures, so the expectation is that the leading correction was carried out.
func (r *Report) compare(occasions []Occasion, o Options) error {
	last := occasions[len(occasions)-1].changes()
	earlier := connected(occasions[:len(occasions)-1])
	before, err := solved(earlier, o)
	if err != nil {
		return err
	}
	before.describeFrom(len(earlier) - 1)
	a, err := newAdviser(before, len(earlier)-1, len(occasions)-2)
	if err != nil {
		return err
	}
	a.quick = true
	advice := a.list()
	expected := before.forecast(len(earlier)-1, correction{unjudged: true})
	if !last.Everything && last.Poise {
		for _, x := range advice {
			if x.Forecast != nil {
				expected = *x.Forecast
				break
			}
		}
	}
	c := before.Compare(expected, occasions[len(occasions)-1].Run)
	r.Against = &c
	return nil
}

// adviser looks at one run.
type adviser struct {
	f         *Fit
	r         RunFit
	run       int
	judged    timing.Judgement
	irregular float64 // chance that no sound watch reads so
	quick     bool    // rates only, without the chance to pass
	known     known
}

// newAdviser looks at a run of the fit, which is run number among of all that the docket has.
func newAdviser(f *Fit, run, among int) (adviser, error) {
	a := adviser{f: f, r: f.Runs[run], run: run, known: known{f.options.Known, among}}
	a.judged = f.judged(run)
	sound := f
	if run > 0 {
		alone, err := weighed([]Occasion{{Run: a.r.Run}}, f.options)
		if err != nil {
			return a, err
		}
		sound = alone
	}
	a.irregular = sound.irregular()
	a.r.Run = a.r.Run.Averaged() // the fit took each repeat by itself
	return a, nil
}

// all is the forecast with every correction of the list done, nil where none foretells rates.
func (a adviser) all(list []Advice) *Forecast {
	c := correction{settle: true}
	any := false
	for _, x := range list {
		any = any || x.Forecast != nil
		x.cure(&c)
	}
	if !any {
		return nil
	}
	f := a.f.forecast(a.run, c)
	return &f
}

// cure adds what the advice puts right to a correction.
func (x Advice) cure(c *correction) {
	switch x.Row {
	case rowLying:
		c.horizontal = true
	case rowSlope:
		c.slope = true
	}
	for _, s := range steps {
		if s.Kind == x.Kind && s.cure != nil {
			s.cure(c)
		}
	}
}

func (a adviser) expect(c correction) *Forecast {
	c.unjudged = a.quick
	f := a.f.forecast(a.run, c)
	return &f
}

// The usual cautions of work at the balance (common practice).
const (
	powerDown      = "The mainspring is let down before balance or fork is lifted."
	demagnetise    = "Any magnetism is taken out first: it imitates almost every other fault."
	keepSpring     = "The hairspring is easily bent; the balance is never turned over hanging from it."
	takeLittle     = "Metal taken off does not come back: less than the figure first, then a new run."
	eyeProtection  = "Chips fly: eye protection is worn where metal is cut or drilled."
	makersPractice = "The maker's instructions and the shop's own practice come before this note."
)

// leastWorthSPerDay is the rate below which a fault is not worth a correction of its own (common practice).
const leastWorthSPerDay = 4

func sure(v metrology.Value, least float64) bool {
	return math.Abs(v.Value) >= least && math.Abs(v.Value) > v.Expanded()
}

func size(v metrology.Value) metrology.Value {
	v.Value = math.Abs(v.Value)
	return v
}

func chance(p float64) string {
	if p < 0.001 {
		return "under 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}
