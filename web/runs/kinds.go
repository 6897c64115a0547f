package web

import (
	"fmt"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/view"
	"net/http"
	"slices"
	"strconv"
)

// runClockText says how well the clock of a run's instrument is known: of a recorder by its calibration, of another as the
// run's sheet states it.
func runClockText(sh timing.Sheet) string {
	std, calibrated := sh.ClockStdPPM[sh.Instrument]
	if !calibrated {
		return clockText(sh.ClockPPM)
	}
	perDay := metrology.Value{StdUncertainty: std * timing.SPerDayPerPPM}.Print(false).Uncertainty
	return fmt.Sprintf("known to %s (± %s s/d), k = 2, as recorder", recorder.PlusMinus(std), perDay)
}

// kindTitle names a kind as the run to be taken will be called.
func kindTitle(k timing.Kind, next int) string {
	run := timing.Run{Kind: k}
	if k == timing.Adjustment {
		run.Adjustment = next
	}
	return run.Title()
}

// clockText says how well a clock is known, in parts per million and in what it makes of a day.
func clockText(ppm float64) string {
	if ppm == 0 {
		return "taken as exact"
	}
	return fmt.Sprintf("right to within ± %s ppm (± %.2g s/d)", strconv.FormatFloat(ppm, 'f', -1, 64), ppm*timing.SPerDayPerPPM)
}

// runURL is a run on its docket's regulation sheet.
func runURL(number string, id int64) string {
	return view.DocketURL(number, "regulation") + "?run=" + itoa64(id) + "#run"
}

// limitsURL is the page that explains a version of rate limits.
func limitsURL(l timing.RateLimits) string {
	return fmt.Sprintf("/rate-limits/%s?version=%d", l.Grade, l.Version)
}

// judgingRule is the decision rule the shop has chosen.
func judgingRule(sh shop.Shop) metrology.Rule {
	if sh.SimpleAcceptance {
		return metrology.Simple
	}
	return metrology.Guarded
}

func fill(f *form, typed map[string]string) {
	for name, text := range typed {
		f.Values.Set(name, text)
	}
}

// allowedKinds are the kinds of run that may be taken on the docket now by this person.
func allowedKinds(r *http.Request, d docket.Docket) []timing.Kind {
	return slices.DeleteFunc(d.RunKinds(), func(k timing.Kind) bool { return !may(r, docket.RunPermission(k)) })
}
