package orders_test

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func fields(pairs ...string) url.Values {
	f := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		f.Add(pairs[i], pairs[i+1])
	}
	return f
}

// shop is a site with a supplier, a part of the catalogue that ages and runs short, and a docket that waits for a crown.
func shop(t *testing.T) (s *webtest.Site, number string) {
	t.Helper()
	s = webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	bench.Post("/suppliers/new", fields("name", "Coldharbour Materials", "email", "orders@coldharbour.example", "phone", "01632 960 250", "account", "TQ 118",
		"lead_days", "4")).Want(http.StatusSeeOther)
	bench.Post("/stock/new", fields("number", "OIL-1", "name", "Fine oil", "unit", "bottle", "cost", "29", "ages", "yes", "reorder_at", "0", "reorder_to", "2",
		"sources", "Coldharbour Materials: CH 9")).Want(http.StatusSeeOther)
	number = s.Noted("promised_on", "2026-11-27")
	_, err := s.Store.AddPart(t.Context(), store.Change{Number: s.Number(number), By: s.Actor(s.Watchmaker), At: webtest.Now},
		stock.PartLine{Description: "Crown", Reference: "C 55", Quantity: 1, State: stock.Needed})
	if err != nil {
		t.Fatal(err)
	}
	return s, number
}

// gathered puts the crown and the oil on a draft, and returns its address.
func gathered(t *testing.T, s *webtest.Site) string {
	t.Helper()
	bench := s.As(s.Watchmaker)
	page := bench.Get("/orders/needs").Want(http.StatusOK)
	if n := len(page.All("need")); n != 2 {
		t.Fatalf("%d needs are listed, want the crown and the oil", n)
	}
	bench.Post("/orders/needs", fields("x", "1")).Want(http.StatusUnprocessableEntity)
	without := fields("need", "line-1")
	if got := bench.Post("/orders/needs", without).Want(http.StatusUnprocessableEntity).Problem("supplier.line-1"); got == "" {
		t.Error("a part is ordered from nobody")
	}
	answer := bench.Post("/orders/needs", fields("need", "line-1", "need", "part-1", "supplier.line-1", "1", "supplier.part-1", "1", "pieces.part-1", "3"))
	at := answer.Want(http.StatusSeeOther).Location()
	if got := len(bench.Get("/orders/needs").All("need")); got != 0 {
		t.Errorf("%d needs are left", got)
	}
	return at
}

// The journey of an order: gathered over docket and drawer, put right, sent, confirmed for a day past the promised one, come in
// part with a wrong part, put right, and the docket promised anew, its customer told.
func TestAnOrderGoesItsWay(t *testing.T) {
	t.Parallel()
	s, number := shop(t)
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	at := gathered(t, s)
	version := func() string { return bench.Get(at).Want(http.StatusOK).Hidden("version") }
	draft := fields("version", version(), "line", "1", "line-1.description", "Crown", "line-1.number", "C 55", "line-1.pieces", "0", "line-1.cost", "11.5",
		"line", "2", "line-2.description", "OIL-1 Fine oil", "line-2.number", "CH 9", "line-2.pieces", "3", "line-2.cost", "29", "way", "telephone", "do", "send",
		"note", "Together, please.")
	refused := bench.Post(at, draft).Want(http.StatusUnprocessableEntity)
	if refused.Problem("line-1.pieces") == "" || refused.Value("line-1.cost") != "11.5" {
		t.Errorf("no pieces: %q, and the price is %q", refused.Problem("line-1.pieces"), refused.Value("line-1.cost"))
	}
	draft.Set("line-1.pieces", "1")
	bench.Post(at, draft).Want(http.StatusSeeOther)
	table, err := csv.NewReader(strings.NewReader(bench.Get(at + "/order.csv").Want(http.StatusOK).Body)).ReadAll()
	want := [][]string{{"2026-001", "1", "C 55", "Crown", "1", "11.50", "EUR", number}, {"2026-001", "2", "CH 9", "OIL-1 Fine oil", "3", "29.00", "EUR", ""}}
	if err != nil || len(table) != 3 || !slices.Equal(table[1], want[0]) || !slices.Equal(table[2], want[1]) {
		t.Errorf("the table is %q, %v", table, err)
	}
	if got := bench.Get(at).Text("total"); !strings.Contains(got, "98.50") {
		t.Errorf("11.50 and three times 29: %q", got)
	}
	if pdf := bench.Get(at + "/order.pdf").Want(http.StatusOK).Body; !strings.HasPrefix(pdf, "%PDF") {
		t.Error("the paper is no PDF")
	}
	// The supplier names a day past the promised one: the page says so and proposes a week after it.
	clerk.Post(at+"/heard", fields("version", version(), "kind", "confirmed", "due_on", "2026-12-01")).Want(http.StatusSeeOther)
	page := clerk.Get(at).Want(http.StatusOK)
	if got := page.Text("waiting-" + number); !strings.Contains(got, "That day does not hold") || page.Value("promised-"+number) != "2026-12-08" {
		t.Errorf("%q, proposed %q", got, page.Value("promised-"+number))
	}
	// The delivery has oil without a lot: nothing of it is kept.
	came := fields("version", version(), "line", "1", "line", "2", "pieces.2", "4")
	if got := clerk.Post(at+"/came", came).Want(http.StatusUnprocessableEntity); got.Problem("lot.2") == "" || got.Value("pieces.2") != "4" {
		t.Errorf("oil without a lot: %q", got.Problem("lot.2"))
	}
	came.Set("lot.2", "L 12")
	came.Set("usable_to.2", "2028-05-01")
	clerk.Post(at+"/came", came).Want(http.StatusSeeOther)
	clerk.Post(at+"/came", came).Want(http.StatusConflict) // the same again, by another who saw the old page
	wrong := fields("version", version(), "line", "1", "pieces", "1", "note", "a stem", "fate", "drawer")
	if got := clerk.Post(at+"/wrong", wrong).Want(http.StatusUnprocessableEntity).Problem("drawer"); got == "" {
		t.Error("a part goes into no drawer")
	}
	wrong.Set("fate", "sent-back")
	clerk.Post(at+"/wrong", wrong).Want(http.StatusSeeOther)
	got := clerk.Get(at).Text("standing")
	if !strings.Contains(got, "1 came wrong") || !strings.Contains(got, "1 more than ordered") {
		t.Errorf("it stands %q", got)
	}
	if got := clerk.Get("/stock/1").Text("standing"); !strings.Contains(got, "4") {
		t.Errorf("four bottles came: %q", got)
	}
	// A week later it is late, at Coldharbour's door.
	s.Pass(9 * 24 * time.Hour)
	late := clerk.Get("/orders/late").Want(http.StatusOK)
	if got := late.Text("door"); !strings.Contains(got, "01632 960 250") || !strings.Contains(got, number) || !strings.Contains(got, "2 days") {
		t.Errorf("late: %q", got)
	}
	if got := clerk.Get("/").Text("orders-late"); !strings.Contains(got, "1") {
		t.Errorf("Today says %q", got)
	}
	clerk.Post(at+"/came", fields("version", version(), "line", "1", "pieces.1", "1")).Want(http.StatusSeeOther)
	page = clerk.Get(at).Want(http.StatusOK)
	if got := page.Text("waiting-" + number); !strings.Contains(got, "All its parts are here") {
		t.Errorf("the crown came: %q", got)
	}
	docketVersion := s.Version(number)
	promise := fields("docket", number, "docket_version", docketVersion, "promised_on", "2026-12-12", "tell", "mail")
	clerk.Post(at+"/promise", promise).Want(http.StatusSeeOther)
	head := s.Sheet(number).Head
	messages, err := s.Store.Messages(t.Context(), s.Number(number))
	if err != nil || head.Docket.PromisedOn.Format(time.DateOnly) != "2026-12-12" || len(messages) == 0 {
		t.Errorf("promised for %s, %d messages, %v", head.Docket.PromisedOn, len(messages), err)
	}
	if n := len(clerk.Get("/orders/late").All("late-line")); n != 0 {
		t.Errorf("%d lines are late still", n)
	}
	if n := len(clerk.Get("/orders?show=done").All("order")); n != 1 {
		t.Errorf("%d orders are done with", n)
	}
	for _, path := range []string{at, "/orders", "/orders/late", "/orders/needs"} {
		if trips := s.Trips(clerk, path); trips > webtest.MaxRoundTrips {
			t.Errorf("%s takes %d round trips", path, trips)
		}
	}
	storetest.Whole(t, s.Store)
}

// What nobody ordered is written down as what it is, and goes into the drawer through the ledger.
func TestWhatNobodyOrderedComes(t *testing.T) {
	t.Parallel()
	s, _ := shop(t)
	bench := s.As(s.Watchmaker)
	at := gathered(t, s)
	send := fields("version", bench.Get(at).Hidden("version"), "line", "1", "line-1.description", "Crown", "line-1.pieces", "1", "way", "otherwise", "do", "send")
	bench.Post(at, send).Want(http.StatusSeeOther) // the oil, which the form lacks, is off
	stray := fields("version", bench.Get(at).Hidden("version"), "line", "", "pieces", "2", "note", "oil, two bottles", "fate", "drawer", "drawer", "oil-1", "lot", "L 7")
	bench.Post(at+"/wrong", stray).Want(http.StatusSeeOther)
	if got := bench.Get("/stock/1").Text("lots"); !strings.Contains(got, "L 7") || !strings.Contains(got, "2") {
		t.Errorf("in the drawer: %q", got)
	}
	called := fields("version", bench.Get(at).Hidden("version"), "kind", "cancelled", "line", "1", "pieces", "2")
	if got := bench.Post(at+"/heard", called).Want(http.StatusUnprocessableEntity).Problem("pieces"); got == "" {
		t.Error("two of one are called off")
	}
	called.Set("pieces", "1")
	bench.Post(at+"/heard", called).Want(http.StatusSeeOther)
	if n := len(bench.Get("/orders/needs").All("need")); n != 1 {
		t.Errorf("%d needs after the crown was called off, want the crown: two bottles are here", n)
	}
	storetest.Whole(t, s.Store)
}

// A delivery that was miscounted is put right on its order's page, and what was kept aside gets its end there.
func TestWhatComesAfterADelivery(t *testing.T) {
	t.Parallel()
	s, _ := shop(t)
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	at := gathered(t, s)
	send := fields("version", bench.Get(at).Hidden("version"), "line", "1", "line-1.description", "Crown", "line-1.pieces", "1", "line", "2",
		"line-2.description", "Fine oil", "line-2.pieces", "3", "way", "otherwise", "do", "send")
	bench.Post(at, send).Want(http.StatusSeeOther)
	version := func() string { return clerk.Get(at).Want(http.StatusOK).Hidden("version") }
	if len(clerk.Get(at).All("miscounted-form"))+len(clerk.Get(at).All("kept-form")) != 0 {
		t.Error("nothing came, and it can be put right")
	}
	clerk.Post(at+"/came", fields("version", version(), "line", "1", "line", "2", "pieces.1", "1", "pieces.2", "3", "lot.2", "L 7")).Want(http.StatusSeeOther)
	wrong := fields("version", version(), "line", "2", "pieces", "2", "note", "grease", "fate", "kept")
	clerk.Post(at+"/wrong", wrong).Want(http.StatusSeeOther)
	miscount := fields("version", version(), "line", "2", "pieces", "2", "lot", "L 8", "note", "")
	refused := clerk.Post(at+"/miscounted", miscount).Want(http.StatusUnprocessableEntity)
	if refused.Problem("note") == "" || !strings.Contains(refused.Body, `value="L 8"`) {
		t.Errorf("without a reason: %q", refused.Problem("note"))
	}
	miscount.Set("note", "one bottle in the box")
	if got := clerk.Post(at+"/miscounted", miscount).Want(http.StatusUnprocessableEntity).Problem("lot"); got == "" {
		t.Error("out of a lot that never came")
	}
	miscount.Set("lot", "L 7")
	clerk.Post(at+"/miscounted", miscount).Want(http.StatusSeeOther)
	page := clerk.Get(at).Want(http.StatusOK)
	if got := page.Text("standing"); !strings.Contains(got, "came in part") && len(page.All("came-form")) != 1 {
		t.Errorf("it stands %q", got)
	}
	if got := clerk.Get("/stock/1").Text("ledger"); !strings.Contains(got, "one bottle in the box") {
		t.Errorf("the ledger says %q", got)
	}
	if got := page.Text("kept"); !strings.Contains(got, "2 × grease") {
		t.Errorf("kept aside: %q", got)
	}
	kept := fields("version", version(), "of", "4", "pieces", "3", "fate", "sent-back")
	if got := clerk.Post(at+"/kept", kept).Want(http.StatusUnprocessableEntity).Problem("pieces"); got == "" {
		t.Error("three of two go back")
	}
	kept.Set("pieces", "1")
	clerk.Post(at+"/kept", kept).Want(http.StatusSeeOther)
	into := fields("version", version(), "of", "4", "pieces", "1", "fate", "drawer", "drawer", "oil-1")
	if got := clerk.Post(at+"/kept", into).Want(http.StatusUnprocessableEntity).Problem("lot"); got == "" {
		t.Error("what ages goes into the drawer without a lot")
	}
	into.Set("lot", "L 9")
	clerk.Post(at+"/kept", into).Want(http.StatusSeeOther)
	if len(clerk.Get(at).All("kept")) != 0 || !strings.Contains(clerk.Get("/stock/1").Text("lots"), "L 9") {
		t.Error("it lies aside still")
	}
	storetest.Whole(t, s.Store)
}

// Who comes second is told what happened meanwhile, keeps what they typed and may send it again; a form that is shown again for
// another reason still says which order it saw. A new line of the catalogue takes the supplier's own number.
func TestTwoAtOneOrder(t *testing.T) {
	t.Parallel()
	s, _ := shop(t)
	bench, owner := s.As(s.Watchmaker), s.As(s.Owner)
	at := gathered(t, s)
	seen := bench.Get(at).Want(http.StatusOK)
	draft := func(description string) url.Values {
		return fields("version", seen.Hidden("version"), "seen", seen.Hidden("seen"), "line", "1", "line-1.description", description, "line-1.pieces", "1",
			"line", "2", "line-2.description", "Fine oil", "line-2.pieces", "3", "do", "save")
	}
	theirs := draft("Crown 5.5")
	theirs.Set("new.drawer", "OIL-1")
	theirs.Set("new.pieces", "4")
	theirs.Set("line-2.off", "yes")
	owner.Post(at, theirs).Want(http.StatusSeeOther)
	bad := draft("Crown, gilt")
	bad.Set("line-1.pieces", "x")
	if again := bench.Post(at, bad).Want(http.StatusUnprocessableEntity); again.Hidden("version") != seen.Hidden("version") {
		t.Errorf("shown again it saw version %s, of %s", again.Hidden("version"), seen.Hidden("version"))
	}
	clash := bench.Post(at, draft("Crown, gilt")).Want(http.StatusConflict)
	for _, want := range []string{"Someone else saved first", "Crown 5.5", "Taken off by now: Fine oil", `value="Crown, gilt"`, `value="CH 9"`} {
		if !strings.Contains(clash.Body, want) {
			t.Errorf("the clash does not show %q", want)
		}
	}
	mine := fields("version", clash.Hidden("version"), "seen", clash.Hidden("seen"), "line", "1", "line-1.description", "Crown, gilt", "line-1.pieces", "1",
		"line", "3", "line-3.description", "OIL-1 Fine oil", "line-3.number", "CH 9", "line-3.pieces", "4", "way", "telephone", "do", "send")
	bench.Post(at, mine).Want(http.StatusSeeOther)
	sent := bench.Get(at).Want(http.StatusOK)
	delivery := fields("version", sent.Hidden("version"), "seen", sent.Hidden("seen"), "line", "1", "pieces.1", "1")
	owner.Post(at+"/heard", fields("version", sent.Hidden("version"), "kind", "back-ordered", "line", "1")).Want(http.StatusSeeOther)
	second := bench.Post(at+"/came", delivery).Want(http.StatusConflict)
	if !strings.Contains(second.Body, "Crown, gilt, C 55 on back order") && !strings.Contains(second.Body, "on back order ("+s.Owner.Name+")") {
		t.Errorf("the clash does not say what happened: %s", webtest.TextOf(second.Document))
	}
	if strings.Contains(second.Text("came-form"), "Sent (") || !strings.Contains(second.Body, `name="pieces.1"`) {
		t.Error("what was seen is told again")
	}
	storetest.Whole(t, s.Store)
}

// A draft is given up after being asked once more, and a clerk sends none.
func TestDraftsAreTheBenchs(t *testing.T) {
	t.Parallel()
	s, _ := shop(t)
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	at := gathered(t, s)
	for _, path := range []string{at, at + "/drop", "/orders/needs", "/orders/new"} {
		clerk.Post(path, fields("version", "1")).Want(http.StatusForbidden)
	}
	if len(clerk.Get(at).All("draft-form")) != 0 {
		t.Error("a clerk is offered to send")
	}
	bench.PostSure(at+"/drop", fields("version", bench.Get(at).Hidden("version"))).Want(http.StatusSeeOther)
	if n := len(bench.Get("/orders/needs").All("need")); n != 2 {
		t.Errorf("%d needs after the draft was given up", n)
	}
	bench.Post("/orders/new", fields("supplier", "")).Want(http.StatusUnprocessableEntity)
}
