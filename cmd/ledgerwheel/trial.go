package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/metrology"
)

type trialCmd struct {
	Category int    `help:"Category by size of movement: 1 for 20 mm (314 mm²) and over, 2 for smaller." enum:"1,2" default:"1"`
	JSON     bool   `name:"json" help:"Print the result as JSON."`
	Strict   bool   `help:"Exit with 1 when the trial fails; else a verdict of fail exits with 0, since the question was answered."`
	File     string `arg:"" name:"FILE.csv" help:"The rates: header day,rate_s_per_day and fifteen rows, decimals with a point. - reads standard input."`
}

// errUnusableFile reports a file that can't be read, or isn't what it should be.
var errUnusableFile = errors.New("unusable file")

// unusable is an error about one file that ends the program with exit code 2.
type unusable struct{ cause error }

func (u unusable) Error() string        { return u.cause.Error() }
func (u unusable) Unwrap() error        { return u.cause }
func (u unusable) Is(target error) bool { return target == errUnusableFile }

// errTrialFailed reports a verdict of fail to those who asked for it as an error.
var errTrialFailed = errors.New("the trial fails")

// Run judges the trial and prints the seven criteria. A verdict of fail is no error, unless it is asked for: the
// question was answered.
func (c *trialCmd) Run(e *env) error {
	rates, err := c.read(e.stdin)
	if err != nil {
		return unusable{err}
	}
	judgement := chronometer.Judge(chronometer.Category(c.Category), rates)
	write := writeTrialTable
	if c.JSON {
		write = writeTrialJSON
	}
	if err := write(e.stdout, judgement); err != nil {
		return err
	}
	if c.Strict && judgement.Standing != chronometer.Pass {
		return errTrialFailed
	}
	return nil
}

func (c *trialCmd) read(stdin io.Reader) (chronometer.Rates, error) {
	if c.File == "-" {
		rates, err := chronometer.ReadCSV(stdin)
		if err != nil {
			return rates, fmt.Errorf("standard input: %w", err)
		}
		return rates, nil
	}
	file, err := os.Open(c.File)
	if err != nil {
		return chronometer.Rates{}, err // names the file
	}
	defer file.Close()
	rates, err := chronometer.ReadCSV(file)
	var path *os.PathError
	if err != nil && !errors.As(err, &path) {
		err = fmt.Errorf("%s: %w", c.File, err)
	}
	return rates, err
}

// trialJSON is the answer of trial --json. Its fields are promised.
type trialJSON struct {
	Category int                  `json:"category"`
	Verdict  chronometer.Standing `json:"verdict"` // pass or fail
	Criteria struct {
		MeanDailyRate     trialCriterionJSON `json:"mean_daily_rate"`
		MeanVariation     trialCriterionJSON `json:"mean_variation"`
		GreatestVariation trialCriterionJSON `json:"greatest_variation"`
		// D of the standard: vertical less horizontal. The first of its two names says the opposite and is kept for those
		// who read it already.
		HorizontalVerticalDifference trialCriterionJSON `json:"horizontal_vertical_difference"`
		VerticalHorizontalDifference trialCriterionJSON `json:"vertical_horizontal_difference"`
		LargestDeviation             trialCriterionJSON `json:"largest_deviation"`
		ThermalVariation             trialCriterionJSON `json:"thermal_variation"`
		RateResumption               trialCriterionJSON `json:"rate_resumption"`
	} `json:"criteria"`
}

type trialCriterionJSON struct {
	Value        float64  `json:"value"` // s/d, of thermal_variation s/d per °C; not rounded
	Lower        *float64 `json:"lower"` // null where there is no lower limit
	Upper        *float64 `json:"upper"`
	WithinLimits bool     `json:"within_limits"`
	U95          float64  `json:"u95"` // expanded uncertainty, k = 2, of the resolution of the figures
}

func writeTrialJSON(w io.Writer, j chronometer.Judgement) error {
	answer := trialJSON{Category: int(j.Category), Verdict: j.Standing}
	of := func(c chronometer.Criterion) trialCriterionJSON {
		r := j.Result(c)
		return trialCriterionJSON{Value: r.Value.Value, Lower: r.Limits.Lower, Upper: r.Limits.Upper,
			WithinLimits: r.WithinLimits(), U95: r.Value.Expanded()}
	}
	answer.Criteria.MeanDailyRate = of(chronometer.MeanDailyRate)
	answer.Criteria.MeanVariation = of(chronometer.MeanVariation)
	answer.Criteria.GreatestVariation = of(chronometer.GreatestVariation)
	answer.Criteria.HorizontalVerticalDifference = of(chronometer.HorizontalVerticalDifference)
	answer.Criteria.VerticalHorizontalDifference = answer.Criteria.HorizontalVerticalDifference
	answer.Criteria.LargestDeviation = of(chronometer.LargestDeviation)
	answer.Criteria.ThermalVariation = of(chronometer.ThermalVariation)
	answer.Criteria.RateResumption = of(chronometer.RateResumption)
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(answer)
}

func writeTrialTable(w io.Writer, j chronometer.Judgement) error {
	fmt.Fprintf(w, "Chronometer trial by ISO 3159, %v\n\n", j.Category)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "criterion\tfigure\tlimits\tunit\tresult")
	for _, r := range j.Results {
		result := "within limits"
		if !r.WithinLimits() {
			result = "outside limits"
		}
		figure := r.Value.Print(r.Criterion.Signed())
		figure.Unit = ""
		fmt.Fprintf(table, "%s (%s)\t%s\t%s\t%s\t%s\n", r.Criterion.Label(), r.Criterion.Symbol(), figure, limitWords(r),
			r.Criterion.Unit(), result)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "\nVerdict: %s, by %v.\nThe figure after ± is the expanded uncertainty (k = 2) of the "+
		"resolution of the rates.\n",
		strings.ToUpper(string(j.Standing)), metrology.Simple)
	return err
}

func limitWords(r chronometer.Result) string {
	signed := func(x float64) string { return metrology.Value{Value: x}.Print(r.Criterion.Signed()).Value }
	if r.Limits.Lower == nil {
		return "up to " + signed(*r.Limits.Upper)
	}
	return signed(*r.Limits.Lower) + " to " + signed(*r.Limits.Upper)
}
