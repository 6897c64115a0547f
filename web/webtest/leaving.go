package webtest

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// Leaving is a docket that comes to its final test: work for 120 euros was agreed and the watch was regulated.
type Leaving struct {
	*Site
	N    docket.Number
	Path string
}

func NewLeaving(t testing.TB) *Leaving {
	t.Helper()
	l := &Leaving{Site: NewSite(t)}
	ctx := t.Context()
	if err := l.Store.EnsureRateLimits(ctx, Now); err != nil {
		t.Fatal(err)
	}
	calibre, err := l.Store.AddCalibre(ctx, store.CalibreChange{At: Now}, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600,
		PowerReserveHours: 42, GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := l.Store.Shop(ctx)
	if err != nil {
		t.Fatal(err)
	}
	sh.Address, sh.Phone, sh.TaxBasisPoints = "7 Tern Quay\nSaltby", "01632 960 117", 2000
	if err := l.Store.SaveShop(ctx, sh, l.Actor(l.Owner), Now); err != nil {
		t.Fatal(err)
	}
	l.N, err = l.Store.TakeIn(ctx, store.TakingIn{Shop: sh, Customer: customer.Customer{Name: "Ada Quillmarsh",
		Phone: "01632 960123"}.Tidied("GB"),
		Watch: watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Serial: "HM-104477", MovementSerial: "M-90113",
			CalibreID: calibre, CalibreName: "Gannet 40",
			WaterResistanceMarked: "5 bar", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Condition: watch.Condition{NoMarksSeen: watch.Parts}, Place: docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Gains a minute a day", Wanted: docket.WantedService}, By: l.Actor(l.Clerk),
		At: Now})
	if err != nil {
		t.Fatal(err)
	}
	l.toFinalTest()
	return l
}

// Another takes in one more watch on the ticket of the docket that it is about, brings it to its final test, and is about that one
// from then on.
func (l *Leaving) Another(model, serial string) {
	l.T.Helper()
	first := l.Sheet(l.N.String()).Head
	in := store.TakingIn{Shop: l.Sheet(l.N.String()).Shop, CustomerID: first.Customer.ID, With: l.N,
		Watch: watch.Watch{Maker: "Gannet", Model: model, Serial: serial, CalibreID: first.Watch.CalibreID, CalibreName: "Gannet 40",
			WaterResistanceMarked: "5 bar", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Condition: watch.Condition{NoMarksSeen: watch.Parts}, Place: docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Loses a minute a day", Wanted: docket.WantedService}, By: l.Actor(l.Clerk), At: l.Clock()}
	n, err := l.Store.TakeIn(l.T.Context(), in)
	if err != nil {
		l.T.Fatal(err)
	}
	l.N = n
	l.toFinalTest()
}

// toFinalTest agrees on the work, regulates the watch and brings it to its final test.
func (l *Leaving) toFinalTest() {
	l.T.Helper()
	l.Path = "/dockets/" + l.N.String()
	l.agree()
	l.Put(l.N.String(), `stage = 'regulation', work_since = $2`, l.Clock())
	l.Pass(time.Minute)
	l.regulate()
	l.Pass(time.Minute)
	l.Put(l.N.String(), `stage = 'final-test', test_since = $2, place = 'bench', place_detail = '2'`, l.Clock())
	l.Pass(time.Minute)
}

// change is what somebody does now to the docket as it stands.
func (l *Leaving) change(by store.Actor) store.Change {
	return store.Change{Number: l.N, By: by, At: l.Clock()}
}

// agree has the customer approve an estimate of two lines.
func (l *Leaving) agree() {
	l.T.Helper()
	ctx, today := l.T.Context(), Now.Truncate(24*time.Hour)
	number, err := l.Store.SaveDraft(ctx, l.change(l.Actor(l.Watchmaker)),
		estimate.Revision{Rule: estimate.TaxRule{PricesIncludeTax: true},
			ValidUntil: today.AddDate(0, 1, 0), Lines: []estimate.Line{
				{Kind: estimate.Labour, Description: "Full service", QuantityMilli: 1000, UnitMinor: 9600, TaxBasisPoints: 2000},
				{Kind: estimate.Part, Description: "Mainspring", QuantityMilli: 1000, UnitMinor: 2400, TaxBasisPoints: 2000}}})
	if err == nil {
		err = l.Store.SendEstimate(ctx, l.change(l.Actor(l.Watchmaker)), number, today)
	}
	if err == nil {
		err = l.Store.AnswerEstimate(ctx, l.change(l.Actor(l.Clerk)), estimate.Answer{Revision: number, Approve: true,
			Name: "Ada Quillmarsh"}, today)
	}
	if err != nil {
		l.T.Fatal(err)
	}
}

// regulate takes a final run in six positions: mean +2, delta 5 s/d.
func (l *Leaving) regulate() {
	l.T.Helper()
	run := timing.Run{Kind: timing.Final, CrownHour: 3}
	for i, p := range timing.Positions() {
		run.Readings = append(run.Readings, timing.Reading{Position: p,
			RateSPerDay:  &timing.Figure{Value: []float64{3, -1, 2, 4, 0, 4}[i], Step: 0.1},
			AmplitudeDeg: &timing.Figure{Value: 280 - float64(i), Step: 1}, BeatErrorMs: &timing.Figure{Value: 0.2, Step: 0.1}})
	}
	_, err := l.Store.RecordRun(l.T.Context(), l.change(l.Actor(l.Watchmaker)),
		store.RunEntry{Sheet: timing.Sheet{Run: run, States: []float64{0}, ClockPPM: 0.5}})
	if err != nil {
		l.T.Fatal(err)
	}
}

// TestForm is a passed final test, as it is filled in.
func (l *Leaving) TestForm(changes ...string) url.Values {
	f := url.Values{"version": {l.Version(l.N.String())}, "power-reserve-outcome": {"pass"},
		"power-reserve-figure":     {"44,5 h"},
		"water-resistance-outcome": {"pass"}, "water-resistance-figure": {"5"}, "water-resistance-medium": {"air"},
		"winding-and-setting-outcome": {"pass"}, "date-change-outcome": {"not-applicable"}, "date-change-note": {"no date"},
		"hands-clearance-outcome": {"pass"}, "case-and-strap-outcome": {"pass"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// Ready passes the final test and has the watch wait for its customer.
func (l *Leaving) Ready() {
	l.T.Helper()
	l.As(l.Watchmaker).Post(l.Path+"/final-test", l.TestForm()).Want(http.StatusSeeOther)
	l.Pass(time.Minute)
	l.As(l.Watchmaker).Post(l.Path+"/move", l.MoveForm(l.N.String(), docket.StageReady, "place", "safe", "place_detail",
		"")).Want(http.StatusSeeOther)
	l.Pass(time.Minute)
}

func (l *Leaving) LeaveForm(changes ...string) url.Values {
	f := url.Values{"version": {l.Version(l.N.String())}, "ticket": {l.N.Compact()},
		"collected_by": {"Ada Quillmarsh"}, "old_parts": {"returned"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

func (l *Leaving) PayForm(amount, method string, changes ...string) url.Values {
	f := url.Values{"version": {l.Version(l.N.String())}, "amount": {amount}, "method": {method}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// Gone pays and hands the watch over.
func (l *Leaving) Gone() {
	l.T.Helper()
	l.As(l.Clerk).Post(l.Path+"/hand-over/payment", l.PayForm("120", "cash")).Want(http.StatusSeeOther)
	l.As(l.Clerk).Post(l.Path+"/hand-over", l.LeaveForm()).Want(http.StatusSeeOther)
}

func (l *Leaving) CardForm(changes ...string) url.Values {
	f := url.Values{"version": {l.Version(l.N.String())}, "do": {"issue"}, "work_done": {"Full service\nMainspring"},
		"covers": {"The work named here."},
		"months": {"24"}, "starts_on": {"2026-11-24"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// Issue issues the docket's card and returns its code.
func (l *Leaving) Issue() warranty.Code {
	l.T.Helper()
	l.As(l.Owner).Post(l.Path+"/card", l.CardForm()).Want(http.StatusSeeOther)
	return l.NewestCard().Code
}

func (l *Leaving) NewestCard() store.CardRow {
	l.T.Helper()
	sheet, err := l.Store.CardSheet(l.T.Context(), l.N)
	if err != nil {
		l.T.Fatal(err)
	}
	card, ok := sheet.Newest()
	if !ok {
		l.T.Fatal("no card was issued")
	}
	return card
}
