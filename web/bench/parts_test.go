package bench_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

func addPart(s *webtest.Site, number string, p stock.PartLine) string {
	s.T.Helper()
	id, err := s.Store.AddPart(s.T.Context(), store.Change{Number: s.Number(number), By: s.Actor(s.Watchmaker),
		At: s.Clock()}, p)
	if err != nil {
		s.T.Fatal(err)
	}
	return webtest.Itoa(id)
}

func TestPartGoesItsWay(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	path := "/dockets/" + number + "/parts"
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	bench.Post(path, url.Values{"description": {"Mainspring"}, "reference": {"1.50 × 0.105"}, "quantity": {"2"},
		"state": {"needed"}, "old_part": {"to-return"}}).Want(http.StatusSeeOther)
	page := bench.Get(path).Want(http.StatusOK)
	if got := page.Text("part"); !strings.Contains(got, "2 × Mainspring") || !strings.Contains(got, "needed") ||
		!strings.Contains(page.Text("parts"), "1 still to come") {
		t.Errorf("part shown as %q", got)
	}
	id := strings.TrimPrefix(webtest.Attr(page.One("part"), "id"), "part-")
	step := func(c *webtest.Client, slug string, fields ...string) *webtest.Answer {
		f := url.Values{"version": {s.Version(number)}}
		for i := 0; i < len(fields); i += 2 {
			f.Set(fields[i], fields[i+1])
		}
		return c.Post(path+"/"+id+"/"+slug, f)
	}
	a := step(clerk, "order", "reference", "GS-9").Want(http.StatusUnprocessableEntity)
	if a.Problem("supplier") == "" || a.Value("order-"+id+"-reference") != "GS-9" {
		t.Errorf("reason %q, reference %q", a.Problem("supplier"), a.Value("order-"+id+"-reference"))
	}
	step(clerk, "order", "reference", "GS-9", "supplier", "Gannet Springs").Want(http.StatusSeeOther)
	step(clerk, "fit").Want(http.StatusForbidden) // the counter orders and books in, the bench fits
	step(bench, "fit").Want(http.StatusUnprocessableEntity)
	step(clerk, "arrive").Want(http.StatusSeeOther)
	asked := step(bench, "fit").Want(http.StatusUnprocessableEntity)
	if asked.Problem("payer") == "" || !strings.Contains(asked.Text("fold-fit-"+id), "no agreed estimate holds it") {
		t.Errorf("a part outside the estimate: %q", asked.Problem("payer"))
	}
	asked = step(bench, "fit", "payer", "shop").Want(http.StatusUnprocessableEntity)
	if asked.Problem("payer_why") == "" || !webtest.HasAttr(asked.One("payer-shop").Attr, "checked") {
		t.Error("on the house without a reason, or the choice is lost")
	}
	step(bench, "fit", "payer", "customer").Want(http.StatusSeeOther)
	if got := bench.Get(path).Text("money-" + id); !strings.Contains(got, "No agreed estimate holds this part.") ||
		!strings.Contains(got, "the customer is asked") || !strings.Contains(got, "Price it in the estimate") {
		t.Errorf("money: %q", got)
	}
	step(bench, "payer", "payer", "shop", "payer_why", "she declined").Want(http.StatusSeeOther)
	if got := bench.Get(path).Text("money-" + id); !strings.Contains(got, "on the house") ||
		!strings.Contains(got, "she declined") {
		t.Errorf("money said again: %q", got)
	}
	step(bench, "old-part", "old_part", "returned").Want(http.StatusSeeOther)
	page = bench.Get(path)
	if got := page.Text("part"); !strings.Contains(got, "fitted") || !strings.Contains(got, "from Gannet Springs") ||
		!strings.Contains(got, "returned with the watch") {
		t.Errorf("part shown as %q", got)
	}
	if open := s.Sheet(number).Head.Facts.PartsOutstanding; open != 0 {
		t.Errorf("%d outstanding", open)
	}
	if trips := s.Trips(bench, path); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
}

func TestPartRefusals(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	path := "/dockets/" + number + "/parts"
	bench := s.As(s.Watchmaker)
	a := bench.Post(path, url.Values{"quantity": {"many"}, "note": {"see the drawing"},
		"state": {"ordered"}}).Want(http.StatusUnprocessableEntity)
	if a.Problem("description") == "" || a.Problem("quantity") == "" || a.Problem("supplier") == "" {
		t.Errorf("reasons %q, %q, %q", a.Problem("description"), a.Problem("quantity"), a.Problem("supplier"))
	}
	if a.Value("quantity") != "many" || a.Value("note") != "see the drawing" {
		t.Error("what was typed is lost")
	}
	s.As(s.Clerk).Post(path, url.Values{"description": {"Stem"}}).Want(http.StatusForbidden)
	id := addPart(s, number, stock.PartLine{Description: "Stem", Quantity: 1, State: stock.Needed})
	stale := url.Values{"version": {s.Version(number)}, "description": {"Setting stem"}, "quantity": {"2"}}
	bench.Post(path+"/"+id, url.Values{"version": {s.Version(number)}, "description": {""},
		"quantity": {"1"}}).Want(http.StatusUnprocessableEntity)
	bench.Post(path+"/"+id, url.Values{"version": {s.Version(number)}, "description": {"Winding stem"},
		"quantity": {"1"}}).Want(http.StatusSeeOther)
	clash := bench.Post(path+"/"+id, stale).Want(http.StatusConflict)
	webtest.Contains(t, "theirs", clash.Text("form-errors"), "Emrys Vale", "Winding stem", "save again")
	if clash.Value("correct-"+id+"-description") != "Setting stem" || clash.Value("correct-"+id+"-quantity") != "2" {
		t.Error("what was typed is lost")
	}
	bench.Post(path+"/"+id+"/arrive", url.Values{"version": {"1"}}).Want(http.StatusSeeOther) // nobody else moved it
	bench.Post(path+"/"+id+"/order", url.Values{"version": stale["version"], "supplier": {"Gannet"}}).
		Want(http.StatusConflict)
	bench.Post(path+"/"+id+"/need", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	bench.Post(path+"/999/arrive", url.Values{"version": {s.Version(number)}}).Want(http.StatusNotFound)
	bench.Post(path+"/"+id+"/fly", url.Values{"version": {s.Version(number)}}).Want(http.StatusNotFound)
	if got := bench.Get(path).Text("part"); !strings.Contains(got, "Winding stem") || !strings.Contains(got, "needed") {
		t.Errorf("part shown as %q", got)
	}
}

func TestOutstandingPartsAreBookedIn(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	first := s.TakeIn()
	second := s.TakeIn("name", "Mrs D'Arcy", "phone", "01632 960999", "email", "", "serial", "77", "customer_choice",
		"new", "watch_choice", "new")
	ordered := stock.PartLine{Description: "Mainspring", Quantity: 1, State: stock.Ordered, Supplier: "Gannet Springs"}
	a, b := addPart(s, first, ordered), addPart(s, second, ordered)
	other := ordered
	other.Supplier = "Petrel & Sons"
	c := addPart(s, second, other)
	addPart(s, first, stock.PartLine{Description: "Crown", Quantity: 1, State: stock.Needed})

	clerk := s.As(s.Clerk)
	page := clerk.Get("/parts").Want(http.StatusOK)
	if n := len(page.All("outstanding-part")); n != 3 {
		t.Fatalf("%d ordered parts listed", n)
	}
	if webtest.HasAttr(page.One("tick-"+first+":"+a).Attr, "checked") {
		t.Error("parts of every supplier are ticked beforehand")
	}
	if got := clerk.Get("/parts?state=needed").Want(http.StatusOK); len(got.All("outstanding-part")) != 1 ||
		len(got.All("book-in")) != 0 {
		t.Error("what has still to be ordered is not listed apart")
	}
	var supplier string
	for _, n := range page.All("supplier") {
		if strings.HasPrefix(webtest.TextOf(n), "Gannet Springs") {
			supplier = webtest.Attr(n, "href")
		}
	}
	page = clerk.Get(supplier).Want(http.StatusOK)
	if len(page.All("outstanding-part")) != 2 || !webtest.HasAttr(page.One("tick-"+first+":"+a).Attr, "checked") {
		t.Error("the parcel of one supplier is not ticked whole")
	}
	clerk.Post("/parts?state=ordered", nil).Want(http.StatusUnprocessableEntity)
	clerk.Post("/parts", url.Values{"part": {"nonsense"}}).Want(http.StatusBadRequest)
	at := clerk.Post(supplier, url.Values{"part": {first + ":" + a, second + ":" +
		b}}).Want(http.StatusSeeOther).Location()
	page = clerk.Get(at).Want(http.StatusOK)
	if !strings.Contains(page.Text("flash"), "2 parts booked in") || len(page.All("outstanding-part")) != 0 {
		t.Errorf("told %q, %d left", page.Text("flash"), len(page.All("outstanding-part")))
	}
	at = clerk.Post("/parts", url.Values{"part": {first + ":" + a, second + ":" + c}}).Want(http.StatusSeeOther).Location()
	if got := clerk.Get(at).Text("flash"); !strings.Contains(got, "One part booked in") ||
		!strings.Contains(got, "1 stood elsewhere") {
		t.Errorf("told %q", got)
	}
	clerk.Get("/parts?after=x").Want(http.StatusBadRequest)
	if trips := s.Trips(clerk, "/parts"); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
	if at := s.Stranger().Get("/parts").Want(http.StatusSeeOther).Location(); !strings.HasPrefix(at, "/sign-in") {
		t.Error("a stranger sees the parts")
	}
}

// TestPartOfAWatchThatLeft is on the list and may still be booked in.
func TestPartOfAWatchThatLeft(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	id := addPart(s, number, stock.PartLine{Description: "Mainspring", Quantity: 1, State: stock.Ordered,
		Supplier: "Gannet Springs"})
	s.HandOver(number)
	clerk := s.As(s.Clerk)
	if got := clerk.Get("/parts").Text("outstanding-part"); !strings.Contains(got, "has left") {
		t.Errorf("shown as %q", got)
	}
	page := clerk.Get("/dockets/" + number + "/parts").Want(http.StatusOK)
	if len(page.All("arrive-"+id)) != 1 || len(page.All("fit-"+id)) != 0 {
		t.Error("wrong moves are offered")
	}
	clerk.Post("/parts", url.Values{"part": {number + ":" + id}}).Want(http.StatusSeeOther)
	if len(clerk.Get("/parts").All("outstanding-part")) != 0 {
		t.Error("the part is still outstanding")
	}
	a := s.As(s.Watchmaker).Post("/dockets/"+number+"/parts", url.Values{"description": {"Stem"},
		"quantity": {"1"}}).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Text("form-errors"), "has left the shop") {
		t.Errorf("told %q", a.Text("form-errors"))
	}
}

// A part of the catalogue is typed by its number or by words of its name; what it is called follows, and what can't be found
// is said beside the field and keeps what was typed.
func TestAPartFromTheDrawers(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	for _, part := range []string{"MS-1", "MS-12"} {
		bench.Post("/stock/new", url.Values{"number": {part}, "name": {"Mainspring " + part}, "unit": {"piece"}}).Want(http.StatusSeeOther)
	}
	bench.Post("/stock/1/receive", url.Values{"pieces": {"1"}}).Want(http.StatusSeeOther)
	path := "/dockets/" + number + "/parts"
	add := func(drawer, state string) *webtest.Answer {
		return bench.Post(path, url.Values{"version": {s.Version(number)}, "drawer": {drawer}, "quantity": {"1"}, "state": {state}})
	}
	for typed, want := range map[string]string{"crown": "No part", "mainspring": "MS-1, MS-12"} {
		page := add(typed, "needed").Want(http.StatusUnprocessableEntity)
		if got := page.Problem("drawer"); !strings.Contains(got, want) || page.Value("drawer") != typed {
			t.Errorf("%q: %q, the field has %q", typed, got, page.Value("drawer"))
		}
	}
	add("ms-1", "arrived").Want(http.StatusSeeOther)
	if got := bench.Get(path).Text("part"); !strings.Contains(got, "Mainspring MS-1") {
		t.Errorf("on the docket it is %q", got)
	}
	if got := bench.Get("/stock/1").Text("held"); !strings.Contains(got, number) {
		t.Errorf("the drawer holds it back for %q", got)
	}
	page := add("ms-1", "arrived").Want(http.StatusUnprocessableEntity) // the last one is held back
	if !strings.Contains(page.Body, "1 needed, 0 free") {
		t.Error("the last one is given twice, or without a word")
	}
	if n := len(bench.Get(path).All("part")); n != 1 {
		t.Errorf("%d parts on the docket", n)
	}
}
