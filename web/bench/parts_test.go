package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
)

func (s *site) addPart(number string, p stock.PartLine) string {
	s.t.Helper()
	id, err := s.store.AddPart(s.t.Context(), store.Change{Number: s.number(number), By: s.actor(s.watchmaker), At: s.clock()}, p)
	if err != nil {
		s.t.Fatal(err)
	}
	return itoa(id)
}

func TestPartGoesItsWay(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	path := "/dockets/" + number + "/parts"
	bench, clerk := s.as(s.watchmaker), s.as(s.clerk)
	bench.post(path, url.Values{"description": {"Mainspring"}, "reference": {"1.50 × 0.105"}, "quantity": {"2"}, "state": {"needed"}, "old_part": {"to-return"}}).want(http.StatusSeeOther)
	page := bench.get(path).want(http.StatusOK)
	if got := page.text("part"); !strings.Contains(got, "2 × Mainspring") || !strings.Contains(got, "needed") || !strings.Contains(page.text("parts"), "1 still to come") {
		t.Errorf("part shown as %q", got)
	}
	id := strings.TrimPrefix(attr(page.one("part"), "id"), "part-")
	step := func(c *client, slug string, fields ...string) *answer {
		f := url.Values{"version": {s.version(number)}}
		for i := 0; i < len(fields); i += 2 {
			f.Set(fields[i], fields[i+1])
		}
		return c.post(path+"/"+id+"/"+slug, f)
	}
	a := step(clerk, "order", "reference", "GS-9").want(http.StatusUnprocessableEntity)
	if a.problem("supplier") == "" || a.value("order-"+id+"-reference") != "GS-9" {
		t.Errorf("reason %q, reference %q", a.problem("supplier"), a.value("order-"+id+"-reference"))
	}
	step(clerk, "order", "reference", "GS-9", "supplier", "Gannet Springs").want(http.StatusSeeOther)
	step(clerk, "fit").want(http.StatusForbidden) // the counter orders and books in, the bench fits
	step(bench, "fit").want(http.StatusUnprocessableEntity)
	step(clerk, "arrive").want(http.StatusSeeOther)
	step(bench, "fit").want(http.StatusSeeOther)
	step(bench, "old-part", "old_part", "returned").want(http.StatusSeeOther)
	page = bench.get(path)
	if got := page.text("part"); !strings.Contains(got, "fitted") || !strings.Contains(got, "from Gannet Springs") || !strings.Contains(got, "returned with the watch") {
		t.Errorf("part shown as %q", got)
	}
	if open := s.sheet(number).Head.Facts.PartsOutstanding; open != 0 {
		t.Errorf("%d outstanding", open)
	}
	if trips := s.trips(bench, path); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
}

func TestPartRefusals(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	path := "/dockets/" + number + "/parts"
	bench := s.as(s.watchmaker)
	a := bench.post(path, url.Values{"quantity": {"many"}, "note": {"see the drawing"}, "state": {"ordered"}}).want(http.StatusUnprocessableEntity)
	if a.problem("description") == "" || a.problem("quantity") == "" || a.problem("supplier") == "" {
		t.Errorf("reasons %q, %q, %q", a.problem("description"), a.problem("quantity"), a.problem("supplier"))
	}
	if a.value("quantity") != "many" || a.value("note") != "see the drawing" {
		t.Error("what was typed is lost")
	}
	s.as(s.clerk).post(path, url.Values{"description": {"Stem"}}).want(http.StatusForbidden)
	id := s.addPart(number, stock.PartLine{Description: "Stem", Quantity: 1, State: stock.Needed})
	stale := url.Values{"version": {s.version(number)}}
	bench.post(path+"/"+id, url.Values{"version": {s.version(number)}, "description": {""}, "quantity": {"1"}}).want(http.StatusUnprocessableEntity)
	bench.post(path+"/"+id, url.Values{"version": {s.version(number)}, "description": {"Winding stem"}, "quantity": {"1"}}).want(http.StatusSeeOther)
	bench.post(path+"/"+id+"/arrive", stale).want(http.StatusConflict)
	bench.post(path+"/999/arrive", url.Values{"version": {s.version(number)}}).want(http.StatusNotFound)
	bench.post(path+"/"+id+"/fly", url.Values{"version": {s.version(number)}}).want(http.StatusNotFound)
	if got := bench.get(path).text("part"); !strings.Contains(got, "Winding stem") || !strings.Contains(got, "needed") {
		t.Errorf("part shown as %q", got)
	}
}

func TestOutstandingPartsAreBookedIn(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	first := s.takeIn()
	second := s.takeIn("name", "Mrs D'Arcy", "phone", "01632 960999", "email", "", "serial", "77", "customer_choice", "new", "watch_choice", "new")
	ordered := stock.PartLine{Description: "Mainspring", Quantity: 1, State: stock.Ordered, Supplier: "Gannet Springs"}
	a, b := s.addPart(first, ordered), s.addPart(second, ordered)
	other := ordered
	other.Supplier = "Petrel & Sons"
	c := s.addPart(second, other)
	s.addPart(first, stock.PartLine{Description: "Crown", Quantity: 1, State: stock.Needed})

	clerk := s.as(s.clerk)
	page := clerk.get("/parts").want(http.StatusOK)
	if n := len(page.all("outstanding-part")); n != 3 {
		t.Fatalf("%d ordered parts listed", n)
	}
	if hasAttr(page.one("tick-"+first+":"+a).Attr, "checked") {
		t.Error("parts of every supplier are ticked beforehand")
	}
	if got := clerk.get("/parts?state=needed").want(http.StatusOK); len(got.all("outstanding-part")) != 1 || len(got.all("book-in")) != 0 {
		t.Error("what has still to be ordered is not listed apart")
	}
	var supplier string
	for _, n := range page.all("supplier") {
		if strings.HasPrefix(textOf(n), "Gannet Springs") {
			supplier = attr(n, "href")
		}
	}
	page = clerk.get(supplier).want(http.StatusOK)
	if len(page.all("outstanding-part")) != 2 || !hasAttr(page.one("tick-"+first+":"+a).Attr, "checked") {
		t.Error("the parcel of one supplier is not ticked whole")
	}
	clerk.post("/parts?state=ordered", nil).want(http.StatusUnprocessableEntity)
	clerk.post("/parts", url.Values{"part": {"nonsense"}}).want(http.StatusBadRequest)
	at := clerk.post(supplier, url.Values{"part": {first + ":" + a, second + ":" + b}}).want(http.StatusSeeOther).location()
	page = clerk.get(at).want(http.StatusOK)
	if !strings.Contains(page.text("flash"), "2 parts booked in") || len(page.all("outstanding-part")) != 0 {
		t.Errorf("told %q, %d left", page.text("flash"), len(page.all("outstanding-part")))
	}
	at = clerk.post("/parts", url.Values{"part": {first + ":" + a, second + ":" + c}}).want(http.StatusSeeOther).location()
	if got := clerk.get(at).text("flash"); !strings.Contains(got, "One part booked in") || !strings.Contains(got, "1 stood elsewhere") {
		t.Errorf("told %q", got)
	}
	clerk.get("/parts?after=x").want(http.StatusBadRequest)
	if trips := s.trips(clerk, "/parts"); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
	if at := s.stranger().get("/parts").want(http.StatusSeeOther).location(); !strings.HasPrefix(at, "/sign-in") {
		t.Error("a stranger sees the parts")
	}
}

// TestPartOfAWatchThatLeft is on the list and may still be booked in.
func TestPartOfAWatchThatLeft(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	id := s.addPart(number, stock.PartLine{Description: "Mainspring", Quantity: 1, State: stock.Ordered, Supplier: "Gannet Springs"})
	s.handOver(number)
	clerk := s.as(s.clerk)
	if got := clerk.get("/parts").text("outstanding-part"); !strings.Contains(got, "has left") {
		t.Errorf("shown as %q", got)
	}
	page := clerk.get("/dockets/" + number + "/parts").want(http.StatusOK)
	if len(page.all("arrive-"+id)) != 1 || len(page.all("fit-"+id)) != 0 {
		t.Error("wrong moves are offered")
	}
	clerk.post("/parts", url.Values{"part": {number + ":" + id}}).want(http.StatusSeeOther)
	if len(clerk.get("/parts").all("outstanding-part")) != 0 {
		t.Error("the part is still outstanding")
	}
	a := s.as(s.watchmaker).post("/dockets/"+number+"/parts", url.Values{"description": {"Stem"}, "quantity": {"1"}}).want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.text("form-errors"), "has left the shop") {
		t.Errorf("told %q", a.text("form-errors"))
	}
}
