package office_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// checked presses the button and waits for the check's end.
func checked(t *testing.T, c *webtest.Client) *webtest.Answer {
	t.Helper()
	c.Post("/record/check", nil).Want(http.StatusSeeOther)
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); time.Sleep(10 * time.Millisecond) {
		page := c.Get("/record").Want(http.StatusOK)
		if len(page.All("record-running")) == 0 {
			return page
		}
		if page.Header.Get("Refresh") == "" {
			t.Fatal("a page with a check under way is not loaded again by itself")
		}
	}
	t.Fatal("the check does not end")
	return nil
}

func alarmed(part *html.Node) bool {
	for n := range part.Descendants() {
		if webtest.Attr(n, "class") == "alarm" {
			return true
		}
	}
	return false
}

// leads is where a link leads, "" where it is not there.
func leads(page *webtest.Answer, testID string) string {
	for _, a := range page.All(testID) {
		return webtest.Attr(a, "href")
	}
	return ""
}

// TestOwnerSeesTheRecord: alarm without a check, none when it is whole, alarm again when it is too old, when something
// differs, and when the record can't be sealed.
func TestOwnerSeesTheRecord(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	stands := func(words string, alarm bool) {
		t.Helper()
		for path, id := range map[string]string{"/owner": "owner-record", "/record": "record-standing"} {
			part := owner.Get(path).Want(http.StatusOK).One(id)
			if text := webtest.TextOf(part); !strings.Contains(text, words) || alarmed(part) != alarm {
				t.Errorf("%s says %q, alarming %t", path, text, !alarm)
			}
		}
	}
	stands("The record was never checked.", true)
	page := checked(t, owner)
	stands("The record was found whole less than a minute ago.", false)
	if got := page.Text("record-checked"); !strings.Contains(got, "asked for by "+s.Owner.Name) {
		t.Errorf("who asked: %q", got)
	}
	if got := page.All("record-looked"); len(got) == 0 || !strings.Contains(webtest.TextOf(got[0]), "Nothing differs in what was looked at: 0 dockets") {
		t.Errorf("what was looked at: %d lines", len(got))
	}
	s.Pass(49 * time.Hour)
	stands("The last check of the record is 2 days old.", true)

	if _, err := s.Store.Pool().Exec(t.Context(), `INSERT INTO watch_list (serial, serial_key, added_by)
		SELECT n, n, $1 FROM generate_series(1, 60) n`, s.Owner.ID); err != nil {
		t.Fatal(err)
	}
	page = checked(t, owner)
	stands("found 60 differences.", true)
	if n := len(page.All("record-finding")); n != record.FindingsShown || !strings.Contains(page.Text("record-more"), "And 10 more.") {
		t.Errorf("%d findings are shown, and %q", n, page.Text("record-more"))
	}
	if got := page.Text("record-next"); !strings.Contains(got, "restore a backup") {
		t.Errorf("next: %q", got)
	}
	s.Unseal(fmt.Errorf("seal: %w (the seal of yesterday)", store.ErrRewritten))
	stands("The record no longer holds what an earlier seal says", true)
	if got := s.As(s.Watchmaker).Get("/record"); got.Status != http.StatusForbidden {
		t.Errorf("a watchmaker sees the record's page: %d", got.Status)
	}
}

// TestOwnerTakesASeal: downloaded it is what the record holds, and proves it; printed it says the same.
func TestOwnerTakesASeal(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	for _, path := range []string{"/record/seal.txt", "/record/seal", "/record/seal.pdf"} {
		owner.Get(path).Want(http.StatusNotFound)
	}
	made := s.Seal()
	page := owner.Get("/record").Want(http.StatusOK)
	webtest.Contains(t, "the page", page.Text("newest-seal"), made.Over(), made.Short(), "24 Nov 2026, 10:30")
	file := owner.Get("/record/seal.txt").Want(http.StatusOK)
	if file.Body != string(made.Text) || !strings.HasPrefix(file.Header.Get("Content-Disposition"), "attachment") {
		t.Errorf("downloaded: %q", file.Body)
	}
	keys, err := s.Store.SealKeys(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if opened, err := record.OpenSeal([]byte(file.Body), record.SealKeys(keys...)); err != nil || opened.Root != made.Root {
		t.Errorf("its signature: %v", err)
	}
	found := 0
	if _, err := s.Store.CheckRecord(t.Context(), store.RecordCheck{Seals: [][]byte{[]byte(file.Body)}}, func(record.Finding) { found++ }); err != nil || found > 0 {
		t.Errorf("the record against it: %d findings, %v", found, err)
	}
	printed := webtest.TextOf(owner.Get("/record/seal").Want(http.StatusOK).Document)
	for _, line := range strings.Split(strings.TrimSpace(string(made.Text)), "\n") {
		if !strings.Contains(printed, line) {
			t.Errorf("the print lacks %q", line)
		}
	}
	webtest.Contains(t, "the print", printed, "record check --seal FILE", made.Short())
}

// TestShopJournalIsPaged shows all entries once, newest first.
func TestShopJournalIsPaged(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for n := range 2 * store.JournalPage {
		sh, err := s.Store.Shop(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		sh.Phone = fmt.Sprintf("0%d", n)
		if err := s.Store.SaveShop(t.Context(), sh, s.Actor(s.Owner), s.Clock()); err != nil {
			t.Fatal(err)
		}
	}
	j, err := s.Store.ShopJournal(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	owner := s.As(s.Owner)
	path, want, back := "/record/journal", j.Newest, ""
	for path != "" {
		page := owner.Get(path).Want(http.StatusOK)
		text := webtest.TextOf(page.One("shop-journal-sheet"))
		for range min(want, store.JournalPage) {
			if !strings.Contains(text, fmt.Sprintf("Entry %d ", want)) {
				t.Fatalf("%s lacks entry %d: %.200s", path, want, text)
			}
			want--
		}
		back, path = path, leads(page, "older")
	}
	if want != 0 {
		t.Errorf("entries from %d down are not shown", want)
	}
	if newer := leads(owner.Get(back), "newer"); !strings.HasPrefix(newer, "/record/journal?before=") {
		t.Errorf("from the last page Newer leads to %q", newer)
	}
	owner.Get("/record/journal?before=x").Want(http.StatusBadRequest)
}
