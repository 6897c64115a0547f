package web

import (
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"net/http"
	"net/url"
	"testing"
	"time"
)

// leaving is a docket that comes to its final test: work for 120 euros was agreed and the watch was regulated.
type leaving struct {
	*site
	n    docket.Number
	path string
}

func newLeaving(t testing.TB) *leaving {
	t.Helper()
	l := &leaving{site: newTestSite(t)}
	ctx := t.Context()
	if err := l.store.EnsureRateLimits(ctx, testNow); err != nil {
		t.Fatal(err)
	}
	calibre, err := l.store.AddCalibre(ctx, store.CalibreChange{}, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600, PowerReserveHours: 42, GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := l.store.Shop(ctx)
	if err != nil {
		t.Fatal(err)
	}
	sh.Address, sh.Phone, sh.TaxBasisPoints = "7 Tern Quay\nSaltby", "01632 960 117", 2000
	if err := l.store.SaveShop(ctx, sh); err != nil {
		t.Fatal(err)
	}
	l.n, err = l.store.TakeIn(ctx, store.TakingIn{Shop: sh, Customer: customer.Customer{Name: "Ada Quillmarsh", Phone: "01632 960123"}.Tidied("GB"),
		Watch: watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Serial: "HM-104477", MovementSerial: "M-90113", CalibreID: calibre, CalibreName: "Gannet 40",
			WaterResistanceMarked: "5 bar", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Condition: watch.Condition{NoMarksSeen: watch.Parts}, Place: docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Gains a minute a day", Wanted: docket.WantedService}, By: l.actor(l.clerk), At: testNow})
	if err != nil {
		t.Fatal(err)
	}
	l.path = "/dockets/" + l.n.String()
	l.agree()
	l.put(l.n.String(), `stage = 'regulation', work_since = $2`, l.clock())
	l.pass(time.Minute)
	l.regulate()
	l.pass(time.Minute)
	l.put(l.n.String(), `stage = 'final-test', test_since = $2, place = 'bench', place_detail = '2'`, l.clock())
	l.pass(time.Minute)
	return l
}

// change is what somebody does now to the docket as it stands.
func (l *leaving) change(by store.Actor) store.Change {
	return store.Change{Number: l.n, By: by, At: l.clock()}
}

// agree has the customer approve an estimate of two lines.
func (l *leaving) agree() {
	l.t.Helper()
	ctx, today := l.t.Context(), testNow.Truncate(24*time.Hour)
	number, err := l.store.SaveDraft(ctx, l.change(l.actor(l.watchmaker)), estimate.Revision{Rule: estimate.TaxRule{PricesIncludeTax: true},
		ValidUntil: today.AddDate(0, 1, 0), Lines: []estimate.Line{
			{Kind: estimate.Labour, Description: "Full service", QuantityMilli: 1000, UnitMinor: 9600, TaxBasisPoints: 2000},
			{Kind: estimate.Part, Description: "Mainspring", QuantityMilli: 1000, UnitMinor: 2400, TaxBasisPoints: 2000}}})
	if err == nil {
		err = l.store.SendEstimate(ctx, l.change(l.actor(l.watchmaker)), number, today)
	}
	if err == nil {
		err = l.store.AnswerEstimate(ctx, l.change(l.actor(l.clerk)), estimate.Answer{Revision: number, Approve: true, Name: "Ada Quillmarsh"}, today)
	}
	if err != nil {
		l.t.Fatal(err)
	}
}

// regulate takes a final run in six positions: mean +2, delta 5 s/d.
func (l *leaving) regulate() {
	l.t.Helper()
	run := timing.Run{Kind: timing.Final, CrownHour: 3}
	for i, p := range timing.Positions() {
		run.Readings = append(run.Readings, timing.Reading{Position: p, RateSPerDay: &timing.Figure{Value: []float64{3, -1, 2, 4, 0, 4}[i], Step: 0.1},
			AmplitudeDeg: &timing.Figure{Value: 280 - float64(i), Step: 1}, BeatErrorMs: &timing.Figure{Value: 0.2, Step: 0.1}})
	}
	_, err := l.store.RecordRun(l.t.Context(), l.change(l.actor(l.watchmaker)), store.RunEntry{Sheet: timing.Sheet{Run: run, States: []float64{0}, ClockPPM: 0.5}})
	if err != nil {
		l.t.Fatal(err)
	}
}

// testForm is a passed final test, as it is filled in.
func (l *leaving) testForm(changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "power-reserve-outcome": {"pass"}, "power-reserve-figure": {"44,5 h"},
		"water-resistance-outcome": {"pass"}, "water-resistance-figure": {"5"}, "water-resistance-medium": {"air"},
		"winding-and-setting-outcome": {"pass"}, "date-change-outcome": {"not-applicable"}, "date-change-note": {"no date"},
		"hands-clearance-outcome": {"pass"}, "case-and-strap-outcome": {"pass"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// ready passes the final test and has the watch wait for its customer.
func (l *leaving) ready() {
	l.t.Helper()
	l.as(l.watchmaker).post(l.path+"/final-test", l.testForm()).want(http.StatusSeeOther)
	l.pass(time.Minute)
	l.as(l.watchmaker).post(l.path+"/move", l.moveForm(l.n.String(), docket.StageReady, "place", "safe", "place_detail", "")).want(http.StatusSeeOther)
	l.pass(time.Minute)
}

func (l *leaving) leaveForm(changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "proof": {"ticket"}, "ticket": {l.n.Compact()}, "collected_by": {"Ada Quillmarsh"}, "old_parts": {"returned"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

func (l *leaving) payForm(amount, method string, changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "amount": {amount}, "method": {method}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// gone pays and hands the watch over.
func (l *leaving) gone() {
	l.t.Helper()
	l.as(l.clerk).post(l.path+"/hand-over/payment", l.payForm("120", "cash")).want(http.StatusSeeOther)
	l.as(l.clerk).post(l.path+"/hand-over", l.leaveForm()).want(http.StatusSeeOther)
}

func (l *leaving) cardForm(changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "do": {"issue"}, "work_done": {"Full service\nMainspring"}, "covers": {"The work named here."},
		"months": {"24"}, "starts_on": {"2026-11-24"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// issue issues the docket's card and returns its code.
func (l *leaving) issue() warranty.Code {
	l.t.Helper()
	l.as(l.owner).post(l.path+"/card", l.cardForm()).want(http.StatusSeeOther)
	return l.newestCard().Code
}

func (l *leaving) newestCard() store.CardRow {
	l.t.Helper()
	sheet, err := l.store.CardSheet(l.t.Context(), l.n)
	if err != nil {
		l.t.Fatal(err)
	}
	card, ok := sheet.Newest()
	if !ok {
		l.t.Fatal("no card was issued")
	}
	return card
}
