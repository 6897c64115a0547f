package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// listenJSON is the answer of listen --json for one file. Its fields are promised. Uncertainties are expanded (k = 2).
type listenJSON struct {
	File              string   `json:"file"`
	BeatsPerHour      *float64 `json:"beats_per_hour"`
	RateSPerDay       *float64 `json:"rate_s_per_day"`
	RateU95SPerDay    *float64 `json:"rate_u95_s_per_day"`     // the recorder's clock included
	RateFitU95SPerDay *float64 `json:"rate_fit_u95_s_per_day"` // of the regression alone
	AmplitudeDeg      *float64 `json:"amplitude_deg"`          // null where it could not be found
	AmplitudeU95Deg   *float64 `json:"amplitude_u95_deg"`
	BeatErrorMs       *float64 `json:"beat_error_ms"` // magnitude: which swing is which cannot be heard
	// positive when the interval after the first beat heard is the longer
	BeatErrorSignedMs *float64 `json:"beat_error_signed_ms"`
	BeatErrorU95Ms    *float64 `json:"beat_error_u95_ms"`
	LiftAngleDeg      *float64 `json:"lift_angle_deg"`
	LiftAngleAssumed  bool     `json:"lift_angle_assumed"`
	BeatsUsed         int      `json:"beats_used"`
	BeatsMissed       int      `json:"beats_missed"`
	SNRdB             *float64 `json:"snr_db"`
	Seconds           *float64 `json:"seconds"`
	Notes             []string `json:"notes"`
}

// listenFailureJSON stands in the array for a file without figures.
type listenFailureJSON struct {
	File  string `json:"file"`
	Error string `json:"error"`
}

func writeListenJSON(w io.Writer, all []heardFile) error {
	answers := make([]any, len(all))
	for i, h := range all {
		if h.err != nil {
			answers[i] = listenFailureJSON{h.name, h.err.Error()}
		} else {
			answer := listenAnswer(h.name, h.result)
			answer.LiftAngleAssumed = h.liftAssumed
			answers[i] = answer
		}
	}
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	out.SetEscapeHTML(false)
	switch {
	case len(all) > 1:
		return out.Encode(answers)
	case all[0].err == nil:
		return out.Encode(answers[0])
	}
	return nil // one file without figures: its line on standard error says why
}

// The places that the figures are rounded to lie well below their uncertainties.
func listenAnswer(file string, r acoustic.Result) listenJSON {
	a := listenJSON{
		File: file, BeatsPerHour: toPlace(r.BeatsPerHour, 1e-3),
		RateSPerDay: toPlace(r.Rate.Value, 1e-3), RateU95SPerDay: upToPlace(r.Rate.Expanded(), 1e-3),
		RateFitU95SPerDay: upToPlace(metrology.CoverageFactor*r.RateFitStdSPerDay, 1e-3),
		LiftAngleDeg:      toPlace(r.LiftAngleDeg, 1e-3), BeatsUsed: r.BeatsUsed, BeatsMissed: r.BeatsMissed,
		SNRdB: toPlace(r.SNRdB, 0.1), Seconds: toPlace(r.Seconds, 1e-3), Notes: []string{},
	}
	if e := r.BeatError; e != nil {
		a.BeatErrorMs, a.BeatErrorSignedMs = toPlace(math.Abs(e.Value), 1e-4), toPlace(e.Value, 1e-4)
		a.BeatErrorU95Ms = upToPlace(e.Expanded(), 1e-4)
	}
	if r.Amplitude != nil {
		a.AmplitudeDeg, a.AmplitudeU95Deg = toPlace(r.Amplitude.Value, 0.01), upToPlace(r.Amplitude.Expanded(), 0.01)
	}
	for _, n := range r.Notes {
		a.Notes = append(a.Notes, n.Text)
	}
	return a
}

// toPlace rounds to whole places of a power of ten below 1, and is nil, JSON's null, of what is no finite number.
func toPlace(x, place float64) *float64 { return placed(math.Round(x/place), place) }

// upToPlace rounds up, so that no uncertainty is stated smaller than it is.
func upToPlace(x, place float64) *float64 {
	// A figure that lies on the place up to the floating point's own error stays there.
	return placed(math.Ceil(x/place-1e-9), place)
}

func placed(places, place float64) *float64 {
	x := places / math.Round(1/place) // the nearest number to the decimal, so that it prints as one
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	x += 0 // no minus zero
	return &x
}

func writeListenTables(w io.Writer, all []heardFile) error {
	first := true
	for _, h := range all {
		if h.err != nil {
			continue
		}
		if !first {
			fmt.Fprintln(w)
		}
		first = false
		if err := writeListenTable(w, h.name, h.result, h.liftAssumed); err != nil {
			return err
		}
	}
	if first {
		return nil
	}
	_, err := fmt.Fprintln(w, "\nThe figure after ± is the expanded uncertainty (k = 2). The rate's includes the "+
		"recorder's clock.")
	return err
}

func writeListenTable(w io.Writer, name string, r acoustic.Result, liftAssumed bool) error {
	fmt.Fprintf(w, "%s, %s s\n\n", name, fixed(r.Seconds, 1))
	var table strings.Builder
	t := tabwriter.NewWriter(&table, 0, 0, 2, ' ', 0)
	row := func(cells ...string) { fmt.Fprintln(t, strings.Join(cells, "\t")) }
	row("quantity", "figure", "unit", "remark")
	found := "found"
	if r.BeatsPerHourStated {
		found = "as told"
	}
	row("beats per hour", fixed(r.BeatsPerHour, -1), "1/h", found)
	fit := metrology.Value{Value: r.Rate.Value, StdUncertainty: r.RateFitStdSPerDay}.Print(true)
	row("rate", figureOf(r.Rate, true), "s/d", "± "+fit.Uncertainty+" without the clock")
	lift := fmt.Sprintf("lift angle %s°", fixed(r.LiftAngleDeg, -1))
	if liftAssumed {
		lift += ", assumed"
	}
	if r.Amplitude == nil {
		row("amplitude", "not found", "", lift)
	} else {
		row("amplitude", figureOf(*r.Amplitude, false), "°", lift)
	}
	if r.BeatError == nil {
		row("beat error", "not found", "", "")
	} else {
		beatError := *r.BeatError
		beatError.Value = math.Abs(beatError.Value)
		row("beat error", figureOf(beatError, false), "ms", "")
	}
	row("beats used", fmt.Sprint(r.BeatsUsed), "", fmt.Sprintf("%d missed", r.BeatsMissed))
	row("signal to noise", fixed(r.SNRdB, 1), "dB", "")
	if err := t.Flush(); err != nil {
		return err
	}
	for line := range strings.Lines(table.String()) {
		fmt.Fprintln(w, strings.TrimRight(line, " \n"))
	}
	if len(r.Notes) > 0 {
		fmt.Fprintln(w)
	}
	for _, n := range r.Notes {
		fmt.Fprintf(w, "- %s\n", n.Text)
	}
	return nil
}

// figureOf prints a figure with its uncertainty and leaves the unit to its column.
func figureOf(v metrology.Value, signed bool) string {
	v.Unit = ""
	return v.Print(signed).String()
}

// fixed writes a number to so many decimals, or with −1 to as many as it has.
func fixed(x float64, decimals int) string {
	switch {
	case math.IsInf(x, 0) || math.IsNaN(x):
		return "no figure"
	case decimals < 0:
		return figure.Shown(*toPlace(x, 1e-3))
	}
	return figure.Places(x, decimals)
}
