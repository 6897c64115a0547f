package runs

import (
	"fmt"
	"net/http"
	"slices"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// ClockText says how well the clock of a run's instrument is known: of a recorder by its calibration, of another as the
// run's sheet states it.
func ClockText(sh timing.Sheet) string {
	std, calibrated := sh.ClockStdPPM[sh.Instrument]
	if !calibrated {
		return clockText(sh.ClockPPM)
	}
	perDay := metrology.Value{StdUncertainty: std * timing.SPerDayPerPPM}.Print(false).Uncertainty
	return fmt.Sprintf("known to %s (± %s s/d), k = 2, as recorder", recorder.PlusMinus(std), perDay)
}

// KindTitle names a kind as the run to be taken will be called.
func KindTitle(k timing.Kind, next int) string {
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
	return fmt.Sprintf("right to within ± %s ppm (± %.2g s/d)", figure.Plain(ppm), ppm*timing.SPerDayPerPPM)
}

// URL is a run on its docket's regulation sheet.
func URL(number string, id int64) string {
	return view.DocketURL(number, "regulation") + "?run=" + page.Itoa64(id) + "#run"
}

// RunDownURL is a run-down on its docket's regulation sheet.
func RunDownURL(number string, id int64) string {
	return view.DocketURL(number, "regulation") + "#run-down-" + page.Itoa64(id)
}

// LimitsURL is the page that explains a version of rate limits.
func LimitsURL(l timing.RateLimits) string {
	return fmt.Sprintf("/rate-limits/%s?version=%d", l.Grade, l.Version)
}

// JudgingRule is the decision rule the shop has chosen.
func JudgingRule(sh shop.Shop) metrology.Rule {
	if sh.SimpleAcceptance {
		return metrology.Simple
	}
	return metrology.Guarded
}

func Fill(f *page.Form, typed map[string]string) {
	for name, text := range typed {
		f.Values.Set(name, text)
	}
}

// AllowedKinds are the kinds of run that may be taken on the docket now by this person.
func AllowedKinds(r *http.Request, d docket.Docket) []timing.Kind {
	return slices.DeleteFunc(d.RunKinds(), func(k timing.Kind) bool { return !page.May(r, docket.RunPermission(k)) })
}
