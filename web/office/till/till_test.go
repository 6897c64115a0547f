package till_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

func form(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// says fails where a part of a page, or what stands beside one of its fields, lacks the words.
func says(t *testing.T, a *webtest.Answer, where, want string) {
	t.Helper()
	var got string
	if field, ok := strings.CutPrefix(where, "problem:"); ok {
		got = a.Problem(field)
	} else {
		got = a.Text(where)
	}
	if !strings.Contains(got, want) {
		t.Errorf("%s says %q, want %q", where, got, want)
	}
}

// A day at the counter: change is put in, money is taken, the bank gets some, and in the evening the count differs by a
// coin; what is asked of the clerk stands beside the fields, and nothing is booked before the difference was seen.
func TestADayOfTheTill(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	clerk := s.As(s.Clerk)
	n, _ := docket.ParseNumber(number)
	pay := func(minor int64, how docket.Method) {
		t.Helper()
		if err := s.Store.TakePayment(t.Context(), store.Change{Number: n, By: s.Actor(s.Clerk), At: s.Clock()}, docket.Payment{Minor: minor, Method: how, Beyond: true,
			Note: "x"}); err != nil {
			t.Fatal(err)
		}
	}
	says(t, clerk.Post("/till/move", form("kind", "float", "amount", "nothing")).Want(http.StatusUnprocessableEntity), "problem:amount", "Give an amount")
	clerk.Post("/till/move", form("kind", "expense", "amount", "5")).Want(http.StatusUnprocessableEntity)
	clerk.Post("/till/move", form("kind", "float", "amount", "100")).Want(http.StatusSeeOther)
	says(t, clerk.Post("/till/move", form("kind", "banked", "amount", "200")).Want(http.StatusUnprocessableEntity), "problem:amount", "Count the till first")
	clerk.Post("/till/move", form("kind", "expense", "amount", "4.50", "note", "stamps, paper 7")).Want(http.StatusSeeOther)
	pay(6000, docket.Cash)
	pay(2500, docket.Card)
	open := clerk.Get("/till").Want(http.StatusOK)
	says(t, open, "book", "€155.50")
	if text := webtest.TextOf(open.Document); !strings.Contains(text, "Card") || !strings.Contains(text, "€25.00") {
		t.Error(text)
	}
	// Pieces are counted before the book is seen.
	if first := clerk.Get("/till/count").Want(http.StatusOK); strings.Contains(webtest.TextOf(first.Document), "155.50") {
		t.Error("the book stands beside the fields before anything was counted")
	}
	counted := form("currency", "EUR", "day", s.Clock().Format("2006-01-02"), "pieces-5000", "3", "pieces-500", "1")
	with := func(pairs ...string) url.Values {
		v := url.Values{}
		for name := range counted {
			v.Set(name, counted.Get(name))
		}
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		return v
	}
	clerk.Post("/till/count", with("pieces-200", "some")).Want(http.StatusUnprocessableEntity)
	compared := clerk.Post("/till/count", with("do", "check")).Want(http.StatusOK)
	says(t, compared, "difference", "€0.50 too little")
	says(t, compared, "counted-sum", "€155.00")
	seen := compared.Hidden("seen")
	if compared.Hidden("day") == "" || seen != "15550" {
		t.Fatalf("seen %q", seen)
	}
	says(t, clerk.Post("/till/count", with("do", "close", "seen", seen)).Want(http.StatusUnprocessableEntity), "problem:why", "Say why")
	pay(1000, docket.Cash)
	clerk.Post("/till/count", with("do", "close", "seen", seen, "why", "a coin is missing")).Want(http.StatusConflict)
	counted.Set("pieces-1000", "1")
	closed := clerk.Post("/till/count", with("do", "close", "seen", "16550", "why", "a coin is missing")).Want(http.StatusSeeOther)
	day := clerk.Get(closed.Location()).Want(http.StatusOK)
	for _, want := range []string{"€0.50 too little", "a coin is missing", "stamps, paper 7", number, "€50.00"} {
		if !strings.Contains(webtest.TextOf(day.Document), want) {
			t.Errorf("the day's sheet lacks %q:\n%s", want, webtest.TextOf(day.Document))
		}
	}
	pdf := clerk.Get(strings.TrimSuffix(closed.Location(), "?") + "/sheet.pdf").Want(http.StatusOK)
	if !strings.HasPrefix(pdf.Body, "%PDF-") {
		t.Error("no PDF")
	}
	// What comes after counts for the next day, which can't be counted yet.
	pay(700, docket.Cash)
	next := clerk.Get("/till").Want(http.StatusOK)
	says(t, next, "book", "€172.00")
	if text := webtest.TextOf(next.Document); !strings.Contains(text, "Today is closed") || len(next.All("to-count")) != 0 {
		t.Error(text)
	}
	moved := clerk.Post("/till/move", form("kind", "banked", "amount", "150")).Want(http.StatusSeeOther)
	shown := clerk.Get(moved.Location())
	says(t, shown, "book", "€22.00")
	forms := shown.All("take-back")
	if len(forms) != 1 {
		t.Fatalf("%d moves can be taken back", len(forms))
	}
	clerk.Post("/till/moves/3/back", form("currency", "EUR")).Want(http.StatusSeeOther)
	says(t, clerk.Get("/till"), "book", "€172.00")
	clerk.Post("/till/moves/3/back", form("currency", "CHF")).Want(http.StatusNotFound)
	s.As(s.Watchmaker).Get("/till").Want(http.StatusForbidden)
	clerk.Get("/till/days/2026-01-01").Want(http.StatusNotFound)
	clerk.Get("/till/days/never").Want(http.StatusNotFound)
	says(t, clerk.Get("/till?currency=CHF").Want(http.StatusOK), "book", "CHF 0.00")
}

// Where coins and notes are not known here, the sum is typed.
func TestASumIsCounted(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	clerk := s.As(s.Clerk)
	for _, page := range []string{"/till/count?by=sum", "/till/count?currency=KWD"} {
		if a := clerk.Get(page).Want(http.StatusOK); len(a.All("counted")) != 1 || len(a.All("pieces-5000")) != 0 {
			t.Errorf("%s has no field for the sum", page)
		}
	}
	day := s.Clock().Format("2006-01-02")
	clerk.Post("/till/count", form("currency", "KWD", "day", day, "counted", "", "do", "check")).Want(http.StatusUnprocessableEntity)
	says(t, clerk.Post("/till/count", form("currency", "KWD", "day", day, "counted", "1.255", "do", "check")).Want(http.StatusOK), "difference", "KWD 1.255 too much")
	clerk.Post("/till/count", form("currency", "KWD", "day", day, "counted", "1.255", "seen", "0", "why", "was there before", "do", "close")).Want(http.StatusSeeOther)
	says(t, clerk.Get("/till?currency=KWD"), "book", "KWD 1.255")
}

// A day whose cash nobody counted is said to the clerk and the owner from the next day on, in one line each, until it is counted; the
// bench is not asked, and a day on which only cards were taken need not be counted.
func TestADayThatNobodyCountedIsSaid(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	n, _ := docket.ParseNumber(s.Noted())
	pay := func(how docket.Method) {
		t.Helper()
		if err := s.Store.TakePayment(t.Context(), store.Change{Number: n, By: s.Actor(s.Clerk), At: s.Clock()}, docket.Payment{Minor: 500, Method: how, Beyond: true}); err != nil {
			t.Fatal(err)
		}
	}
	said := func(want bool, when string) {
		t.Helper()
		clerk, owner := s.As(s.Clerk).Get("/").All("uncounted"), webtest.TextOf(s.As(s.Owner).Get("/owner").Want(http.StatusOK).Document)
		if (len(clerk) == 1) != want || strings.Contains(owner, "was never counted. Count it") != want {
			t.Errorf("%s: Today says it %d times, the owner's page says %q", when, len(clerk), owner)
		}
	}
	pay(docket.Card)
	s.Pass(24 * time.Hour)
	said(false, "after a day of cards alone")
	pay(docket.Cash)
	said(false, "on the day itself")
	day := s.Clock()
	s.Pass(24 * time.Hour)
	said(true, "the day after")
	if got := s.As(s.Watchmaker).Get("/").All("uncounted"); len(got) != 0 {
		t.Error("the bench is asked to count the till")
	}
	says(t, s.As(s.Clerk).Get("/").Want(http.StatusOK), "uncounted", day.Format("Mon 2 Jan 2006"))
	s.As(s.Clerk).Post("/till/count", form("currency", "EUR", "day", day.Format("2006-01-02"), "counted", "5", "by", "sum", "seen", "500", "do", "close")).Want(http.StatusSeeOther)
	said(false, "once it is counted")
}
