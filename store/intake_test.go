package store_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// counter is a shop with a clerk at its counter.
type counter struct {
	*store.Store
	shop  shop.Shop
	clerk store.Actor
	at    time.Time
}

func newCounter(t *testing.T) *counter {
	t.Helper()
	c := &counter{Store: storetest.New(t), at: time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)}
	c.shop = shop.Defaults()
	c.shop.Name, c.shop.TimeZone, c.shop.LinkSecret = "Tern Quay Watch Works", "Europe/Zurich", make([]byte, 32)
	id, err := c.Found(t.Context(), c.shop, staff.Member{Name: "Nuala Reed", Email: "counter@ternquay.example",
		Role: staff.Owner}, "", c.at)
	if err != nil {
		t.Fatal(err)
	}
	c.clerk = store.Actor{StaffID: id, Name: "Nuala Reed", Role: staff.Owner}
	return c
}

var (
	ada     = customer.Customer{Name: "Ada Quillmarsh", Phone: "01632 960123", Email: "ada@example.org"}
	harbour = watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Serial: "1O47-I", Lume: watch.LumeNone,
		Winding: watch.WindingHand}
	noMarks    = watch.Condition{NoMarksSeen: watch.Parts}
	sixtyEuros = int64(6000)
)

// takingIn is Ada with her Harbourmaster.
func (c *counter) takingIn() store.TakingIn {
	return store.TakingIn{Shop: c.shop, Customer: ada.Tidied("GB"), Watch: harbour.Tidied(),
		Place:  docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Stops at night", Wanted: docket.WantedService, ApprovalLimitMinor: &sixtyEuros},
		By:     c.clerk, At: c.at}
}

func (c *counter) mustTakeIn(t *testing.T, in store.TakingIn) (docket.Number, store.IntakeSheet) {
	t.Helper()
	n, err := c.TakeIn(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := c.IntakeSheet(t.Context(), n)
	if err != nil {
		t.Fatal(err)
	}
	return n, sheet
}

// kinds are the kinds of the docket's journal, oldest first, after making sure that it holds together.
func (c *counter) kinds(t *testing.T, n docket.Number) []docket.Kind {
	t.Helper()
	h, err := c.Head(t.Context(), n)
	if err != nil {
		t.Fatal(err)
	}
	entries, err := c.Journal(t.Context(), h.Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(entries)
	if err := docket.VerifyHead(h.Docket.ID, entries, docket.Head{Seq: h.Docket.Version,
		Hash: h.Docket.Head}); err != nil {
		t.Error(err)
	}
	var kinds []docket.Kind
	for _, e := range entries {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

func problemsOf(t *testing.T, err error) map[string]string {
	t.Helper()
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		t.Fatalf("got %v, want an InvalidError", err)
	}
	return invalid.Problems
}

func TestTakeInKeepsEverything(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	in := c.takingIn()
	in.Condition = watch.Condition{NoMarksSeen: watch.Parts[1:], Marks: []watch.ConditionMark{
		{Part: watch.PartDial, Kind: watch.MarkScratch, Placed: true, X: 0.25, Y: 0.5, Note: "by the seconds"}}}
	in.Intake.PromisedOn = time.Date(2026, 12, 8, 0, 0, 0, 0, time.UTC)
	n, sheet := c.mustTakeIn(t, in)
	if n != (docket.Number{Year: 2026, Seq: 1}) {
		t.Errorf("the first docket is %v", n)
	}
	d := sheet.Head.Docket
	if d.Complaint != "Stops at night" || *d.ApprovalLimitMinor != 6000 || d.DeclaredValueMinor != nil ||
		d.Currency != "EUR" ||
		!d.PromisedOn.Equal(in.Intake.PromisedOn) || d.Stage != docket.StageIntake || d.Place.Kind != docket.PlaceSafe {
		t.Errorf("docket kept as %+v", d)
	}
	if got := sheet.Head.Customer; got.Name != ada.Name || got.PhoneE164 != "+441632960123" {
		t.Errorf("customer kept as %+v", got)
	}
	if got := sheet.Head.Watch; got.Maker != "Gannet" || got.Serial != "1O47-I" || got.CrownAt != 3 {
		t.Errorf("watch kept as %+v", got)
	}
	if m := sheet.Condition.Marks; len(m) != 1 || m[0].X != 0.25 || m[0].Note != "by the seconds" ||
		len(sheet.Condition.NoMarksSeen) != 4 {
		t.Errorf("condition kept as %+v", sheet.Condition)
	}
	if !slices.Equal(sheet.Hazards, []string{"mainspring-let-down", "solvents"}) {
		t.Errorf("hazards %v", sheet.Hazards)
	}
	want := []docket.Kind{docket.Received, docket.ConditionNoted, docket.HazardFound, docket.HazardFound}
	if got := c.kinds(t, n); !slices.Equal(got, want) {
		t.Errorf("journal %v, want %v", got, want)
	}
	if !sheet.Head.Facts.Condition || sheet.Head.Facts.HazardsOpen != 2 {
		t.Errorf("facts %+v", sheet.Head.Facts)
	}
}

func TestTakeInNumbersHaveNoGaps(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	const many = 20
	numbers := make([]docket.Number, many)
	errs := make([]error, 2*many)
	var wg sync.WaitGroup
	for i := range 2 * many {
		wg.Go(func() {
			in := c.takingIn()
			in.Customer = customer.Customer{Name: fmt.Sprintf("Customer %c", 'A'+i), Phone: fmt.Sprintf("01632 9601%02d",
				i)}.Tidied("GB")
			in.Watch.Serial = fmt.Sprintf("S%d", 1000+i)
			in.NewCustomer, in.NewWatch = true, true
			if i >= many { // half of them fail after the number is drawn
				in.WatchID, in.CustomerID = 999, 999
			}
			n, err := c.TakeIn(context.Background(), in)
			errs[i] = err
			if i < many {
				numbers[i] = n
			}
		})
	}
	wg.Wait()
	var seqs []int
	for i := range many {
		if errs[i] != nil {
			t.Fatal(errs[i])
		}
		if errs[many+i] == nil {
			t.Error("a customer who is not there was taken")
		}
		seqs = append(seqs, numbers[i].Seq)
	}
	slices.Sort(seqs)
	for i, seq := range seqs {
		if seq != i+1 {
			t.Fatalf("sequences %v", seqs)
		}
	}
}

func TestTakeInYearIsTheShops(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	in := c.takingIn()
	in.At = time.Date(2026, 12, 31, 23, 30, 0, 0, time.UTC) // half past midnight in Zurich
	n, sheet := c.mustTakeIn(t, in)
	if n.Year != 2027 || sheet.Head.Docket.ReceivedOn.Format(time.DateOnly) != "2027-01-01" {
		t.Errorf("number %v received on %v", n, sheet.Head.Docket.ReceivedOn)
	}
}

func TestTakeInOffersDuplicates(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	_, first := c.mustTakeIn(t, c.takingIn())

	in := c.takingIn()
	in.Customer = customer.Customer{Name: "Ada Quilmarsh", Email: "other@example.org"}.Tidied("GB") // one letter out
	in.Watch.Serial = "1047 1"                                                                      // O and 0, I and 1
	_, err := c.TakeIn(t.Context(), in)
	var alike *store.AlikeError
	if !errors.As(err, &alike) || !alike.Customer || !alike.Watch {
		t.Fatalf("got %v, want both to be asked about", err)
	}
	in.NewCustomer = true
	if _, err = c.TakeIn(t.Context(), in); !errors.As(err, &alike) || alike.Customer || !alike.Watch {
		t.Fatalf("got %v, want the watch to be asked about", err)
	}
	in.NewWatch = true
	n, second := c.mustTakeIn(t, in)
	if n.Seq != 2 {
		t.Errorf("refusals left a gap: %v", n)
	}
	if second.Head.Customer.ID == first.Head.Customer.ID || second.Head.Watch.ID == first.Head.Watch.ID {
		t.Error("a new customer and watch were asked for")
	}
}

func TestTakeInKnownCustomerAndWatch(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, first := c.mustTakeIn(t, c.takingIn())
	in := c.takingIn()
	in.CustomerID, in.WatchID = first.Head.Customer.ID, first.Head.Watch.ID
	_, err := c.TakeIn(t.Context(), in)
	if why := problemsOf(t, err)["watch_choice"]; !strings.Contains(why, n.String()) {
		t.Errorf("a watch in the shop was taken in again: %q", why)
	}
	c.close(t, n, docket.StageHandedOver, c.at.Add(time.Hour))

	in.Watch = watch.Watch{Reference: "HM-2"}.Tidied()
	in.Intake.WarrantyOf = first.Head.Docket.ID
	in.At = c.at.AddDate(0, 6, 0)
	n2, sheet := c.mustTakeIn(t, in)
	if w := sheet.Head.Watch; w.ID != first.Head.Watch.ID || w.Reference != "HM-2" || w.Maker != "Gannet" ||
		w.Serial != "1O47-I" {
		t.Errorf("watch became %+v", w)
	}
	if sheet.Head.ComebackOf != n.String() || !slices.Contains(c.kinds(t, n2), docket.ComebackOpened) {
		t.Errorf("comeback of %q", sheet.Head.ComebackOf)
	}
	if kinds := c.kinds(t, n); kinds[len(kinds)-1] != docket.ComebackOpened {
		t.Errorf("the earlier docket's journal ends in %v", kinds)
	}
}

func TestAWatchThatChangesHandsSaysSo(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, first := c.mustTakeIn(t, c.takingIn())
	c.close(t, n, docket.StageHandedOver, c.at)
	in := c.takingIn()
	in.Customer = customer.Customer{Name: "Ben Thole", Phone: "01632 960789"}.Tidied("GB")
	in.WatchID = first.Head.Watch.ID
	_, sheet := c.mustTakeIn(t, in)
	entries, err := c.Journal(t.Context(), sheet.Head.Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := entries[len(entries)-1].Summary; got != "Taken in: Gannet Harbourmaster, from Ben Thole; brought before "+
		"by Ada Quillmarsh." {
		t.Errorf("journal begins %q", got)
	}
	page, err := c.WatchSheet(t.Context(), first.Head.Watch.ID, 0)
	if err != nil || page.Customer.Name != "Ben Thole" || len(page.Dockets) != 2 ||
		page.Dockets[1].CustomerName != "Ada Quillmarsh" {
		t.Errorf("watch of %q with history %+v, %v", page.Customer.Name, page.Dockets, err)
	}
}

// close has the watch leave the shop, without the moves that lead there.
func (c *counter) close(t *testing.T, n docket.Number, stage docket.Stage, at time.Time) {
	t.Helper()
	_, err := c.Pool().Exec(t.Context(), `UPDATE docket SET stage = $2, open = false, place = 'with-customer', handed_back_at = $3
		WHERE number = $1`, n.String(), string(stage), at)
	if err != nil {
		t.Fatal(err)
	}
}

func TestComebackNeedsARunningWarranty(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, first := c.mustTakeIn(t, c.takingIn())
	c.close(t, n, docket.StageHandedOver, c.at)
	unrepaired := c.takingIn()
	unrepaired.NewCustomer, unrepaired.NewWatch = true, true
	n2, second := c.mustTakeIn(t, unrepaired)
	c.close(t, n2, docket.StageDeclined, c.at)
	for _, tt := range []struct {
		name    string
		watch   int64
		earlier int64
		after   [3]int // years, months, days
		ok      bool
	}{
		{"last day of twelve months", first.Head.Watch.ID, first.Head.Docket.ID, [3]int{1, 0, 0}, true},
		{"a day later", first.Head.Watch.ID, first.Head.Docket.ID, [3]int{1, 0, 1}, false},
		{"another watch's docket", second.Head.Watch.ID, first.Head.Docket.ID, [3]int{0, 1, 0}, false},
		{"went back unrepaired", second.Head.Watch.ID, second.Head.Docket.ID, [3]int{0, 1, 0}, false},
		{"no such docket", second.Head.Watch.ID, 4711, [3]int{0, 1, 0}, false},
	} {
		in := c.takingIn()
		in.CustomerID, in.WatchID, in.Intake.WarrantyOf = first.Head.Customer.ID, tt.watch, tt.earlier
		in.At = c.at.AddDate(tt.after[0], tt.after[1], tt.after[2])
		n, err := c.TakeIn(t.Context(), in)
		if tt.ok {
			if err != nil {
				t.Errorf("%s: %v", tt.name, err)
			}
			c.close(t, n, docket.StageWithdrawn, in.At)
			continue
		}
		if problemsOf(t, err)["warranty_of"] == "" {
			t.Errorf("%s: got %v", tt.name, err)
		}
	}
}

func TestSerialIsListedOnce(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	e := watch.WatchListEntry{Serial: "TQ 40-017", Source: "Saltby police, 118", Reported: c.at.AddDate(0, -1, 0)}
	errs := make([]error, 4)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { errs[i] = c.AddToWatchList(context.Background(), e, c.clerk, c.at) })
	}
	wg.Wait()
	kept := 0
	for _, err := range errs {
		if err == nil {
			kept++
		} else if why := problemsOf(t, err)["serial"]; !strings.Contains(why, "on the list already") {
			t.Errorf("refused with %v, %q", err, why)
		}
	}
	if kept != 1 {
		t.Errorf("four at once put the serial on the list %d times", kept)
	}
	// Doubles from before stay, and are named.
	if _, err := c.Pool().Exec(t.Context(), `INSERT INTO watch_list (serial, serial_key, maker, reported_on, source, note, added_by, added_at)
		SELECT serial, serial_key, maker, reported_on, source, note, added_by, added_at FROM watch_list`); err != nil {
		t.Fatal(err)
	}
	listed, err := c.Listed(t.Context(), 0)
	if err != nil || len(listed) != 2 || !listed[0].Twice || !listed[1].Twice {
		t.Fatalf("doubles: %+v, %v", listed, err)
	}
	if err := c.RemoveFromWatchList(t.Context(), listed[0].ID, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if listed, err = c.Listed(t.Context(), 0); err != nil || len(listed) != 1 || listed[0].Twice {
		t.Errorf("once one is withdrawn: %+v, %v", listed, err)
	}
}

func TestWatchListIsMatchedAcrossLookalikes(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	for _, e := range []watch.WatchListEntry{
		{Serial: "1047.1", Source: "Saltby harbour office"},
		{Serial: "1O47-I", Maker: "Otherwise", Source: "another maker"},
		{Serial: "99", Source: "no match"},
	} {
		_, err := c.Pool().Exec(t.Context(), `INSERT INTO watch_list (serial, serial_key, maker, source, added_by) VALUES ($1, $2, $3, $4, $5)`,
			e.Serial, watch.SerialLikeKey(e.Serial), e.Maker, e.Source, c.clerk.StaffID)
		if err != nil {
			t.Fatal(err)
		}
	}
	in := c.takingIn()
	in.Watch.Serial, in.Watch.MovementSerial = "", "1O471"
	n, sheet := c.mustTakeIn(t, in)
	if len(sheet.Listed) != 1 || sheet.Listed[0].Entry.Source != "Saltby harbour office" ||
		sheet.Listed[0].Match != watch.SerialLikely {
		t.Errorf("matched %+v", sheet.Listed)
	}
	if !slices.Contains(c.kinds(t, n), docket.WatchListMatched) {
		t.Error("the journal says nothing of the match")
	}
	help, err := c.IntakeHelp(t.Context(), store.IntakeQuestion{Watch: in.Watch})
	if err != nil || len(help.Listed) != 1 {
		t.Errorf("before taking in: %+v, %v", help.Listed, err)
	}
	if _, err := c.Pool().Exec(t.Context(), `UPDATE watch_list SET removed_at = now(), removed_by = $1`,
		c.clerk.StaffID); err != nil {
		t.Fatal(err)
	}
	if sheet, err = c.IntakeSheet(t.Context(), n); err != nil || len(sheet.Listed) != 0 {
		t.Errorf("a withdrawn entry still matches: %+v, %v", sheet.Listed, err)
	}
}

func TestTakeInRefuses(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	minus := int64(-1)
	for _, tt := range []struct {
		field  string
		change func(*store.TakingIn)
	}{
		{"name", func(in *store.TakingIn) { in.Customer = customer.Customer{Email: "ada@example.org"} }},
		{"maker", func(in *store.TakingIn) { in.Watch.Maker = "" }},
		{"water_resistance", func(in *store.TakingIn) { in.Watch.WaterResistanceMarked = "damp" }},
		{"complaint", func(in *store.TakingIn) { in.Intake.Complaint = " " }},
		{"service_wanted", func(in *store.TakingIn) { in.Intake.Wanted = "polish" }},
		{"declared_value", func(in *store.TakingIn) { in.Intake.DeclaredValueMinor = &minus }},
		{"promised_on", func(in *store.TakingIn) { in.Intake.PromisedOn = c.at.AddDate(0, 0, -3) }},
		{"place", func(in *store.TakingIn) { in.Place = docket.PlaceAt(docket.PlaceBench, "2") }},
		{"no_marks.dial", func(in *store.TakingIn) { in.Condition.NoMarksSeen = []watch.Part{watch.PartCase} }},
		{"customer_choice", func(in *store.TakingIn) { in.CustomerID = 4711 }},
		{"watch_choice", func(in *store.TakingIn) { in.WatchID = 4711 }},
	} {
		in := c.takingIn()
		tt.change(&in)
		_, err := c.TakeIn(t.Context(), in)
		if problemsOf(t, err)[tt.field] == "" {
			t.Errorf("%s: got %v", tt.field, err)
		}
	}
	var kept int
	if err := c.Pool().QueryRow(t.Context(), `SELECT (SELECT count(*) FROM customer) + (SELECT count(*) FROM watch)
		+ (SELECT count(*) FROM docket) + (SELECT count(*) FROM docket_sequence)`).Scan(&kept); err != nil || kept != 0 {
		t.Errorf("%d rows were half saved, %v", kept, err)
	}
}

func TestTwoClerksWithTheSameNewCustomer(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	errs := make([]error, 2)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() {
			in := c.takingIn()
			in.Watch.Serial = fmt.Sprintf("Z%d", 5000+i)
			_, errs[i] = c.TakeIn(context.Background(), in)
		})
	}
	wg.Wait()
	var alike *store.AlikeError
	if (errs[0] == nil) == (errs[1] == nil) || !errors.As(errors.Join(errs...), &alike) || !alike.Customer {
		t.Errorf("got %v, want one taken in and one asked", errs)
	}
}

func TestNoteConditionUntilDiagnosisIsDone(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, sheet := c.mustTakeIn(t, c.takingIn())
	if sheet.Head.Facts.Condition {
		t.Error("no condition was noted yet")
	}
	change := store.Change{Number: n, Version: sheet.Head.Docket.Version, By: c.clerk, At: c.at}
	c.mustNote(t, change, noMarks)
	marked := watch.Condition{NoMarksSeen: watch.Parts[1:],
		Marks: []watch.ConditionMark{{Part: watch.PartDial, Kind: watch.MarkStain}}}
	change.Version = 0
	c.mustNote(t, change, marked)
	sheet, err := c.IntakeSheet(t.Context(), n)
	if err != nil || len(sheet.Condition.Marks) != 1 || sheet.Condition.Marks[0].Placed ||
		len(sheet.Condition.NoMarksSeen) != 4 {
		t.Errorf("condition %+v, %v", sheet.Condition, err)
	}
	_, err = c.NoteCondition(t.Context(), change, store.ConditionTyped{})
	if problemsOf(t, err)["no_marks.dial"] == "" {
		t.Error("a condition that says nothing was noted")
	}
	if _, err := c.Pool().Exec(t.Context(), `UPDATE docket SET stage = 'service'`); err != nil {
		t.Fatal(err)
	}
	_, err = c.NoteCondition(t.Context(), change, store.ConditionTyped{Condition: noMarks})
	if problemsOf(t, err)["condition"] == "" {
		t.Error("the condition at intake was changed during service")
	}
}

func TestCorrectIntake(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, sheet := c.mustTakeIn(t, c.takingIn())
	change := store.Change{Number: n, Version: sheet.Head.Docket.Version, By: c.clerk, At: c.at}
	before := len(c.kinds(t, n))

	same := sheet.Head.Docket.Intake
	if err := c.CorrectIntake(t.Context(), change, same); err != nil || len(c.kinds(t, n)) != before {
		t.Errorf("no change left a trace, %v", err)
	}
	said := same
	limit := int64(15000)
	said.ApprovalLimitMinor, said.PromisedOn = &limit, time.Date(2026, 12, 12, 0, 0, 0, 0, time.UTC)
	said.CustomerID, said.Currency = 4711, "CHF" // not up for correction
	if err := c.CorrectIntake(t.Context(), change, said); err != nil {
		t.Fatal(err)
	}
	if got := c.kinds(t, n)[before:]; !slices.Equal(got, []docket.Kind{docket.IntakeCorrected, docket.Promised}) {
		t.Errorf("journal goes on with %v", got)
	}
	h, err := c.Head(t.Context(), n)
	if err != nil || *h.Docket.ApprovalLimitMinor != limit || !h.Docket.PromisedOn.Equal(said.PromisedOn) ||
		h.Docket.Currency != "EUR" {
		t.Errorf("kept %+v, %v", h.Docket.Intake, err)
	}
	said.Complaint = ""
	change.Version = 0
	if problemsOf(t, c.CorrectIntake(t.Context(), change, said))["complaint"] == "" {
		t.Error("an empty complaint was kept")
	}
	c.close(t, n, docket.StageHandedOver, c.at)
	if err := c.CorrectIntake(t.Context(), change, same); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("a closed docket gives %v", err)
	}
}
