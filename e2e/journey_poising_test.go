package e2e

import (
	"math"
	"strconv"
	"testing"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
)

// TestPoising follows the poising of a balance in the browser, from the first reading to stop: cuts get smaller, the page
// warns before the last, and draws the heavy spot as it shrinks.
func TestPoising(t *testing.T) {
	t.Parallel()
	owner := signedIn(t, site(t), staff.Owner)
	number := owner.takesIn(handedIn{customer: "Marguerite Odell", phone: "01632 960 412", maker: "Cormorant", model: "Skerry",
		serial: "CS 55 210", complaint: "Gains lying, loses hanging", more: []string{"approval_limit", "120", "lume", "none", "winding", "automatic"}})
	owner.moves(number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	owner.readsCautions(number)
	owner.findsWrong(number, "hairspring", "out of true at the collet", "require", "True it, then poise the balance.")
	owner.moves(number, move{to: "estimate", place: "safe", reason: "It does not run as it came in."})
	owner.estimates(number, "Poise the balance", "45.00")
	owner.moves(number, move{to: "service", place: "bench", detail: "South bench"})

	owner.open("/dockets/" + number + "/poising")
	owner.within("poising-next").sees("Let the mainspring down", "160° to 180°")
	owner.within("static").seesNot("Error")

	owner.readsRound(38, 270, true, "")
	owner.within("poising-next").sees("lighten", "towards 3 o'clock")
	if owner.has(byTest("last-cut")) {
		owner.errorf("the first cut is said to be the last")
	}
	owner.readsRound(20, 280, true, "about 30 µg off towards 3")
	owner.within("poising-next").sees("lighten")
	owner.readsRound(9, 260, false, "as much again, halved")
	owner.within("last-cut").sees("Before the last cut", "metal does not come back")
	owner.readsRound(2, 200, true, "a touch, under the rim")
	owner.within("poising-next").sees("stop", "Stop.")
	owner.within("chart-poising-way").sees("round 4", "stop within", "12 s/d")
	owner.lookOver("poising")

	owner.unfoldAll()
	owner.within("rounds").sees("about 30 µg off towards 3", "lighten a last time", "stop")
	owner.sheet(number, "journal")
	owner.sees("Poising round 1 read: lighten.", "Poising round 4 read: stop.")
}

// readsRound types a round at 165° in whole seconds a day: the heavy spot's share, fastest with the point fastestUp up.
func (p *person) readsRound(share, fastestUp float64, eight bool, done string) {
	p.t.Helper()
	p.unfold(byTest("round-form"))
	form := p.within("round-form")
	if done != "" {
		form.fill("done", done)
	}
	for _, up := range oscillator.PoisingUps(eight) {
		rate := math.Round(4 + share*math.Cos((up-fastestUp)*math.Pi/180))
		form.fill(poising.Field(timing.Rate, up), strconv.FormatFloat(rate, 'f', 0, 64))
		form.fill(poising.Field(timing.Amplitude, up), "165")
	}
	form.press("save-round")
	if p.has(byTest("form-errors")) {
		p.fatalf("the round was refused")
	}
}
