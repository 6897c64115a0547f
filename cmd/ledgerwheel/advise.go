package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/timing"
)

type adviseCmd struct {
	JSON         bool         `name:"json" help:"Print the answer as JSON."`
	Grade        string       `help:"The rate limits to hold the watch against: chronometer, modern, vintage or small." enum:"chronometer,modern,vintage,small" default:"modern"`
	BeatsPerHour typedBeats   `name:"beats-per-hour" help:"The calibre's beats an hour, for the angle of a beat error." placeholder:"N"`
	LiftAngle    typedDegrees `name:"lift-angle" help:"The lift angle the amplitudes were found with. 52 unless given." placeholder:"DEG"`
	LiftAngleU95 typedDegrees `name:"lift-angle-u95" help:"Its expanded uncertainty (k = 2). 2 unless given: a degree, as one standard deviation." placeholder:"DEG"`
	ClockU95PPM  typedPPM     `name:"clock-u95-ppm" help:"Expanded uncertainty (k = 2) of the timing clock. 0.5 unless given." placeholder:"PPM"`
	Crown        int          `help:"The hour the crown sits at: 3 or 12." enum:"3,12" default:"3"`
	File         string       `arg:"" name:"RUN.csv" help:"Header run,hours,position,rate_s_per_day,amplitude_deg,beat_error_ms, one row a reading; amplitude and beat error may be empty. - reads standard input."`
}

// What is taken where nothing is given.
const (
	usualLiftAngleDeg    = 52
	usualLiftAngleU95Deg = 2
	usualClockU95PPM     = 0.5
)

// gradeOf is the shipped grade by its name on the command line.
var gradeOf = map[string]string{"chronometer": timing.GradeChronometer, "modern": timing.GradeModern,
	"vintage": timing.GradeVintage, "small": timing.GradeSmallCalibre}

// Run reads the runs and prints what they say of the watch. Whatever they say is an answer.
func (c *adviseCmd) Run(e *env) error {
	runs, err := c.read(e.stdin)
	if err != nil {
		return unusable{err}
	}
	o, err := c.options(runs)
	if err != nil {
		return unusable{err}
	}
	occasions := make([]oscillator.Occasion, len(runs))
	for i, r := range runs {
		// The file does not say what was done between two runs, so nothing is taken to be as it was.
		occasions[i] = oscillator.Occasion{Run: r, Changed: &oscillator.Changes{Everything: true}}
	}
	report, err := oscillator.Advise(occasions, o)
	if err != nil {
		return unusable{fmt.Errorf("%s: %w", c.File, err)}
	}
	if c.JSON {
		return writeAdviceJSON(e.stdout, report)
	}
	return writeAdvice(e.stdout, report)
}

func (c *adviseCmd) read(stdin io.Reader) ([]timing.Run, error) {
	source, name := stdin, "standard input"
	if c.File != "-" {
		file, err := os.Open(c.File)
		if err != nil {
			return nil, err // names the file
		}
		defer file.Close()
		source, name = file, c.File
	}
	runs, err := timing.ReadRunsCSV(source, c.Crown)
	var path *os.PathError
	if err != nil && !errors.As(err, &path) {
		err = fmt.Errorf("%s: %w", name, err)
	}
	return runs, err
}

func (c *adviseCmd) options(runs []timing.Run) (oscillator.Options, error) {
	lift, u95, clock := float64(usualLiftAngleDeg), float64(usualLiftAngleU95Deg), usualClockU95PPM
	if x := c.LiftAngle; x.Text() != "" {
		lift = x.Float()
	}
	if x := c.LiftAngleU95; x.Text() != "" {
		u95 = x.Float()
	}
	if c.ClockU95PPM.given {
		clock = c.ClockU95PPM.value
	}
	switch {
	case !(lift >= 10 && lift <= 90):
		return oscillator.Options{}, errors.New("--lift-angle is in degrees, from 10 to 90")
	case !(u95 >= 0 && u95 <= 10):
		return oscillator.Options{}, errors.New("--lift-angle-u95 is in degrees, from 0 to 10")
	case clock < 0:
		return oscillator.Options{}, errors.New("--clock-u95-ppm is zero or more")
	}
	o := oscillator.Options{Rule: metrology.Guarded, Instruments: timing.Instruments{
		OtherClockStdSPerDay: clock / metrology.CoverageFactor * timing.SPerDayPerPPM,
		LiftAngleRel:         max(u95/metrology.CoverageFactor/lift, leastLiftAngleRel)}}
	if x := c.BeatsPerHour; x.Text() != "" {
		o.Balance.BeatsPerHour = int(x.Float())
		if o.Balance.BeatsPerHour < 3600 || o.Balance.BeatsPerHour > 90000 {
			return o, errors.New("--beats-per-hour is from 3600 to 90000")
		}
	}
	for _, g := range timing.ShippedGrades() {
		if g.Grade == gradeOf[c.Grade] {
			o.Limits = g
		}
	}
	return o, nil
}

// leastLiftAngleRel stands for an exact lift angle: 0 would be read as not known.
const leastLiftAngleRel = 1e-6

// adviceJSON is the answer of advise --json. Its fields are promised.
type adviceJSON struct {
	Verdict string `json:"verdict"` // pass, fail, undecided or not_measured
	Next    struct {
		Kind oscillator.Kind `json:"kind"`
		Text string          `json:"text"`
	} `json:"next"`
	Advice   []adviceItemJSON `json:"advice"`
	Poise    poiseJSON        `json:"poise"`
	Regulate *regulateJSON    `json:"regulate_s_per_day"` // what to add, + faster; null while it can't be told
}

type adviceItemJSON struct {
	Kind         oscillator.Kind `json:"kind"`
	Certainty    string          `json:"certainty"` // found or suspected
	RemovesMetal bool            `json:"removes_metal"`
	Text         string          `json:"text"`
}

// poiseJSON is the heavy spot. The figures are null unless given; withheld says why no metal is to be touched, "" when it
// may be.
type poiseJSON struct {
	Given      bool     `json:"given"`
	SizePPM    *float64 `json:"size_ppm"`
	SizeU95PPM *float64 `json:"size_u95_ppm"`
	HeavyAtDeg *float64 `json:"heavy_at_deg"` // clockwise from 12, seen from the dial, balance at rest
	HeavyAtU95 *float64 `json:"heavy_at_u95_deg"`
	Withheld   string   `json:"withheld"`
}

type regulateJSON struct {
	Value float64 `json:"value"`
	U95   float64 `json:"u95"`
}

func writeAdviceJSON(w io.Writer, r oscillator.Report) error {
	answer := adviceJSON{Verdict: strings.ReplaceAll(r.Judged.Verdict.String(), " ", "_"), Advice: []adviceItemJSON{}}
	answer.Next.Kind, answer.Next.Text = r.Next.Kind, r.Next.Text
	for _, x := range r.Advice {
		answer.Advice = append(answer.Advice, adviceItemJSON{x.Kind, certainty(x), x.RemovesMetal, adviceText(x)})
	}
	answer.Poise.Withheld = r.PoiseWithheld
	if h := r.Fit.Runs[r.Run]; r.PoiseGiven {
		size, sizeU, at, atU := h.Poise.Size.Value, h.Poise.Size.Expanded(), h.Poise.BearingDeg.Value, h.Poise.BearingDeg.Expanded()
		answer.Poise.Given = true
		answer.Poise.SizePPM, answer.Poise.SizeU95PPM, answer.Poise.HeavyAtDeg, answer.Poise.HeavyAtU95 = &size, &sizeU, &at, &atU
	}
	if m := r.Regulate; m != nil {
		answer.Regulate = &regulateJSON{m.Value, m.Expanded()}
	}
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(answer)
}

func certainty(x oscillator.Advice) string {
	if x.Suspicion {
		return "suspected"
	}
	return "found"
}

// adviceText is an entry in a few sentences: what is seen, what to do, what comes first.
func adviceText(x oscillator.Advice) string {
	text := strings.Join([]string{x.Title + ".", x.Seen, x.Correction}, " ")
	if x.After != "" {
		text += " Not before what stands above it is settled."
	}
	return text
}

func writeAdvice(w io.Writer, r oscillator.Report) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\nNext: %s\n", r.Judged.Text, r.Next.Text)
	for i, x := range r.Advice {
		fmt.Fprintf(&b, "\n%d. %s (%s)\n   %s\n", i+1, x.Title, certainty(x), x.Seen)
		for _, e := range x.Evidence {
			fmt.Fprintf(&b, "   %s\n", e)
		}
		fmt.Fprintf(&b, "   Cause: %s\n   To do: %s\n", x.Cause, x.Correction)
		if x.After != "" {
			fmt.Fprintln(&b, "   Not before what stands above it is settled.")
		}
	}
	if m := r.Regulate; m != nil {
		fmt.Fprintf(&b, "\nMean rate at full wind, to add: %s\n", m.FormatSigned())
	}
	if h := r.Fit.Runs[r.Run]; r.PoiseGiven {
		fmt.Fprintf(&b, "\n%s\n", h.Poise.Text())
	}
	if r.PoiseWithheld != "" {
		fmt.Fprintf(&b, "No metal is touched: %s\n", r.PoiseWithheld)
	}
	for _, g := range r.Gaps {
		fmt.Fprintf(&b, "Open: %s\n", g.Text)
	}
	for _, x := range r.Wild {
		fmt.Fprintf(&b, "Odd: %s\n", x.Text)
	}
	b.WriteString("\nFigures after ± are expanded uncertainties (k = 2). The mainspring is let down before balance or fork is " +
		"lifted; local rules and licensed practice come first.\n")
	_, err := io.WriteString(w, b.String())
	return err
}
