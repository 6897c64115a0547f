package books_test

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// The owner names accounts, sees a month and a day, and takes both as files whose lines come to what was taken.
func TestBooks(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	n, _ := docket.ParseNumber(s.Noted())
	for _, p := range []docket.Payment{{Minor: 6000, Method: docket.Cash}, {Minor: 2500, Method: docket.Card}} {
		p.Beyond = true
		if err := s.Store.TakePayment(t.Context(), store.Change{Number: n, By: s.Actor(s.Clerk), At: s.Clock()}, p); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.Store.MoveTill(t.Context(), "EUR", till.Move{Kind: till.Banked, Minor: -5000}, s.Actor(s.Clerk), s.Clock()); err != nil {
		t.Fatal(err)
	}
	owner := s.As(s.Owner)
	month, day := s.Clock().Format("2006-01"), s.Clock().Format("2006-01-02")
	form := url.Values{"version": {"0"}, "number-debtors": {"14 00"}}
	if a := owner.Post("/books/accounts", form).Want(http.StatusUnprocessableEntity); a.Problem("number-debtors") == "" {
		t.Error("a number with a space is not refused beside its field")
	}
	form.Set("number-debtors", "1400")
	owner.Post("/books/accounts", form).Want(http.StatusSeeOther)
	owner.Post("/books/accounts", form).Want(http.StatusConflict)
	if a := owner.Get("/books").Want(http.StatusOK); !strings.Contains(webtest.TextOf(a.Document), "€85.00") || len(a.All("month")) != 1 {
		t.Error(webtest.TextOf(a.Document))
	}
	for _, span := range []string{month, day} {
		a := owner.Get("/books/" + span).Want(http.StatusOK)
		for id, want := range map[string]string{"taken": "€85.00", "banked": "€50.00", "owed": "85.00"} {
			if got := a.Text(id); !strings.Contains(got, want) {
				t.Errorf("%s: %s is %q", span, id, got)
			}
		}
		file := owner.Get("/books/" + span + "/lines.csv").Want(http.StatusOK)
		if got := file.Header.Get("Content-Type"); !strings.HasPrefix(got, "text/csv; charset=utf-8") {
			t.Error(got)
		}
		rows, err := csv.NewReader(strings.NewReader(file.Body)).ReadAll()
		if err != nil || len(rows) != 7 {
			t.Fatalf("%d rows: %v\n%s", len(rows), err, file.Body)
		}
		debit, credit, customers := int64(0), int64(0), 0
		for _, row := range rows[1:] {
			for i, sum := range []*int64{&debit, &credit} {
				if row[5+i] != "" {
					minor, err := money.Parse(row[5+i], row[7], "en-GB")
					if err != nil {
						t.Fatal(err)
					}
					*sum += minor
				}
			}
			if row[3] == "1400" {
				customers++
			}
		}
		if debit != 13500 || credit != debit || customers != 2 {
			t.Errorf("%d debit, %d credit, %d lines of customers", debit, credit, customers)
		}
	}
	owner.Get("/books/" + month + "/days.csv").Want(http.StatusOK)
	for _, path := range []string{"/books/2026-13", "/books/soon", "/books?year=now", "/books?currency=XYZ"} {
		owner.Get(path).Want(http.StatusNotFound)
	}
	owner.Get("/books/" + month + "?currency=CHF").Want(http.StatusOK)
	s.As(s.Clerk).Get("/books").Want(http.StatusForbidden)
}
