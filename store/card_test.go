package store_test

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
)

func wording(b *bench) warranty.Wording {
	return warranty.Wording{WorkDone: []string{"Full service", "New mainspring"}, Months: 24,
		Covers:   "The work named here.",
		StartsOn: time.Date(b.at.Year(), b.at.Month(), b.at.Day(), 0, 0, 0, 0, time.UTC)}
}

func (b *bench) cards(t *testing.T) store.CardSheet {
	t.Helper()
	sheet, err := b.CardSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func (b *bench) mustIssue(t *testing.T) warranty.Code {
	t.Helper()
	code, err := b.IssueCard(t.Context(), b.change(t, b.owner), wording(b))
	if err != nil {
		t.Fatal(err)
	}
	return code
}

func (b *bench) standing(t *testing.T, code warranty.Code) warranty.PublicFacts {
	t.Helper()
	check, err := b.CardCheck(t.Context(), code)
	if err != nil {
		t.Fatal(err)
	}
	facts, _ := check.Check(code, b.at)
	return facts
}

// finalRun replaces the fixture's empty final run by one with figures.
func (b *bench) finalRun(t *testing.T, rates ...float64) {
	t.Helper()
	for i, p := range timing.Positions()[:len(rates)] {
		b.record(t, `INSERT INTO reading (run_id, position, hours, rate_s_per_day, rate_half_width, amplitude_deg, amplitude_half_width, taken_at, by_id)
			VALUES ((SELECT max(id) FROM run WHERE docket_id = {d}), $1, 0, $2, 0.05, 280, 0.5, $3, $4)`, string(p), rates[i], b.at, b.watchmaker.StaffID)
	}
}

func TestIssueCard(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.finalRun(t, 3, -1, 2, 4, 0, 4)
	code := b.mustIssue(t)
	sheet := b.cards(t)
	newest, ok := sheet.Newest()
	if !ok || newest.Code != code || !newest.Live() || newest.IssuedBy != b.owner.Name {
		t.Fatalf("newest %+v", newest)
	}
	card, err := newest.Card()
	if err != nil {
		t.Fatal(err)
	}
	if card.Docket != b.n || card.Shop.Name != "Tern Quay Watch Works" || card.Watch.CaseSerial != "1O47-I" ||
		card.Months() != 24 ||
		!card.IssuedAt.Equal(b.at) || !slices.Equal(card.WorkDone, []string{"Full service", "New mainspring"}) {
		t.Errorf("card %+v", card)
	}
	if card.Final.MeanSPerDay != 2 || card.Final.DeltaSPerDay != 5 || len(card.Final.Rates) != 6 ||
		card.Final.Rates[0].AmplitudeDeg != 280 {
		t.Errorf("final %+v", card.Final)
	}
	if kinds := b.kinds(t, b.n); kinds[len(kinds)-1] != docket.CardIssued {
		t.Errorf("journal %v", kinds)
	}
	facts := b.standing(t, code)
	if facts.Standing != warranty.Genuine || facts.CaseSerial == "1O47-I" {
		t.Errorf("public facts %+v", facts)
	}
	// The last day ends at midnight in the shop, an hour before it does by UTC.
	last := card.ExpiresOn.Add(22*time.Hour + 30*time.Minute)
	for at, want := range map[time.Time]warranty.Standing{last: warranty.Genuine, last.Add(time.Hour): warranty.Expired} {
		b.at = at
		if got := b.standing(t, code).Standing; got != want {
			t.Errorf("at %s: %s, want %s", at, got, want)
		}
	}
	b.at = card.ExpiresOn.AddDate(0, 0, 1)
	if got := b.standing(t, code).Standing; got != warranty.Expired {
		t.Errorf("after two years and a day: %s", got)
	}
}

// A card states the newest final run of the work that was done last; one from before it says nothing of the watch now.
func TestCardStatesTheNewestFinalRun(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.finalRun(t, 3, -1, 2, 4, 0, 4)
	if got := b.cards(t).Basis.Final; got.MeanSPerDay != 2 {
		t.Fatalf("the only run: %+v", got)
	}
	b.record(t, `INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id, outcome)
		SELECT docket_id, kind, instrument_ppm, taken_at + interval '1 second', by_id, outcome FROM run WHERE docket_id = {d}`)
	b.finalRun(t, 5, 5, 5, 5, 5, 5)
	if got := b.cards(t).Basis.Final; len(got.Rates) != 6 || got.Rates[1].RateSPerDay != 5 {
		t.Errorf("of two runs: %+v", got)
	}
	b.record(t, `UPDATE docket SET work_since = $1 WHERE id = {d}`, b.at.Add(time.Hour))
	if got := b.cards(t).Basis.Final; len(got.Rates) != 0 {
		t.Errorf("worked on since: %+v", got)
	}
}

func TestIssueCardRefused(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if bad := problemsOf(t, second(b.IssueCard(t.Context(), b.change(t, b.owner), wording(b)))); !strings.Contains(bad[""],
		"ready") {
		t.Errorf("at intake: %v", bad)
	}
	r := ready(t)
	w := wording(r)
	w.WorkDone, w.Months, w.Covers = []string{" ", ""}, 0, ""
	bad := problemsOf(t, second(r.IssueCard(t.Context(), r.change(t, r.owner), w)))
	if bad["work_done"] == "" || bad["months"] == "" || bad["covers"] == "" {
		t.Errorf("problems %v", bad)
	}
	r.mustIssue(t)
	if bad := problemsOf(t, second(r.IssueCard(t.Context(), r.change(t, r.owner), wording(r)))); !strings.Contains(bad[""],
		"stands already") {
		t.Errorf("a second card: %v", bad)
	}
	if n := len(r.cards(t).Cards); n != 1 {
		t.Errorf("%d cards", n)
	}
}

// The warranty runs from the hand-over, whatever day was typed.
func TestCardAfterHandOver(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustHandOver(t)
	day := time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	b.at = b.at.AddDate(0, 0, 3)
	w := wording(b)
	w.StartsOn = time.Time{}
	code, err := b.IssueCard(t.Context(), b.change(t, b.owner), w)
	if err != nil {
		t.Fatal(err)
	}
	if facts := b.standing(t, code); !facts.StartsOn.Equal(day) || !facts.ExpiresOn.Equal(day.AddDate(2, 0, 0)) {
		t.Errorf("from %s until %s", facts.StartsOn, facts.ExpiresOn)
	}
}

func TestReissueChain(t *testing.T) {
	t.Parallel()
	b := ready(t)
	first := b.mustIssue(t)
	b.record(t, `UPDATE watch SET serial = '1047-1'`)
	w := wording(b)
	w.WorkDone = []string{"Full service, seals"}
	if bad := problemsOf(t, second(b.ReissueCard(t.Context(), b.change(t, b.owner), w, ""))); bad["reason"] == "" {
		t.Errorf("without a reason: %v", bad)
	}
	next, err := b.ReissueCard(t.Context(), b.change(t, b.owner), w, "serial misread")
	if err != nil {
		t.Fatal(err)
	}
	third, err := b.ReissueCard(t.Context(), b.change(t, b.owner), w, "card lost")
	if err != nil {
		t.Fatal(err)
	}
	for code, want := range map[warranty.Code]warranty.Standing{first: warranty.Superseded, next: warranty.Superseded,
		third: warranty.Genuine} {
		if got := b.standing(t, code).Standing; got != want {
			t.Errorf("%s is %s, want %s", code, got, want)
		}
	}
	cards := b.cards(t).Cards
	if len(cards) != 3 || cards[0].Supersedes != next || cards[1].Fate.SupersededBy != third ||
		cards[2].Fate.SupersededBy != next {
		t.Errorf("chain %+v", cards)
	}
	old, _ := cards[2].Card()
	now, err := cards[0].Card()
	if err != nil || old.Watch.CaseSerial != "1O47-I" || now.Watch.CaseSerial != "1047-1" ||
		!now.ExpiresOn.Equal(old.ExpiresOn) {
		t.Errorf("old %+v, now %+v, %v", old.Watch, now.Watch, err)
	}
}

// A page shows so many cards, and says that there are more only when there are.
func TestCardsShown(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustIssue(t)
	for n := 2; n <= store.CardsShown+1; n++ {
		newest, err := b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "card lost")
		if err != nil {
			t.Fatal(err)
		}
		if n < store.CardsShown {
			continue
		}
		sheet := b.cards(t)
		if len(sheet.Cards) != store.CardsShown || sheet.More != (n > store.CardsShown) || sheet.Cards[0].Code != newest {
			t.Errorf("of %d cards %d are shown, more %t, newest %s", n, len(sheet.Cards), sheet.More, sheet.Cards[0].Code)
		}
	}
}

func TestVoidCard(t *testing.T) {
	t.Parallel()
	b := ready(t)
	if err := b.VoidCard(t.Context(), b.change(t, b.owner), "no card"); !errors.Is(err, warranty.ErrSpent) {
		t.Errorf("void of nothing: %v", err)
	}
	code := b.mustIssue(t)
	if bad := problemsOf(t, b.VoidCard(t.Context(), b.change(t, b.owner), " ")); bad["reason"] == "" {
		t.Errorf("without a reason: %v", bad)
	}
	b.mustHandOver(t) // a card can be voided after the watch has left
	if err := b.VoidCard(t.Context(), b.change(t, b.owner), "opened by others"); err != nil {
		t.Fatal(err)
	}
	if facts := b.standing(t, code); facts.Standing != warranty.Void || facts.Maker != "" {
		t.Errorf("public facts %+v", facts)
	}
	if err := b.VoidCard(t.Context(), b.change(t, b.owner), "again"); !errors.Is(err, warranty.ErrSpent) {
		t.Errorf("voided twice: %v", err)
	}
	if err := second(b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "x")); !errors.Is(err,
		warranty.ErrSpent) {
		t.Errorf("a void card reissued: %v", err)
	}
	fresh := b.mustIssue(t)
	if b.standing(t, fresh).Standing != warranty.Genuine || b.standing(t, code).Standing != warranty.Void {
		t.Error("a new card does not stand beside a void one")
	}
}

// Two owners' browsers reissue the same card at once: one new card comes of it.
func TestTwoReissueAtOnce(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustIssue(t)
	c := b.change(t, b.owner)
	errs := make([]error, 2)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { errs[i] = second(b.ReissueCard(t.Context(), c, wording(b), "lost")) })
	}
	wg.Wait()
	if (errs[0] == nil) == (errs[1] == nil) || !errors.Is(errors.Join(errs...), domain.ErrChanged) {
		t.Errorf("got %v and %v", errs[0], errs[1])
	}
	cards := b.cards(t).Cards
	live := 0
	for _, card := range cards {
		if card.Live() {
			live++
		}
	}
	if live != 1 {
		t.Errorf("%d cards stand, of %d", live, len(cards))
	}
}

// The first cards of two dockets, issued at once, make one key.
func TestFirstKeyIsMadeOnce(t *testing.T) {
	t.Parallel()
	b := ready(t)
	numbers := []docket.Number{b.n}
	for range 3 {
		in := b.takingIn()
		in.Condition, in.NewCustomer, in.NewWatch = noMarks, true, true
		n, _ := b.mustTakeIn(t, in)
		if _, err := b.Pool().Exec(t.Context(), `UPDATE docket SET stage = 'ready' WHERE number = $1`,
			n.String()); err != nil {
			t.Fatal(err)
		}
		numbers = append(numbers, n)
	}
	var wg sync.WaitGroup
	errs := make([]error, len(numbers))
	for i, n := range numbers {
		wg.Go(func() {
			errs[i] = second(b.IssueCard(t.Context(), store.Change{Number: n, By: b.owner, At: b.at}, wording(b)))
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	keys, err := b.SigningKeys(t.Context())
	if err != nil || len(keys) != 1 || keys[0].MadeBy != b.owner.Name || !keys[0].LastUsed.Equal(b.at) {
		t.Errorf("keys %+v, %v", keys, err)
	}
}

func TestRotateKey(t *testing.T) {
	t.Parallel()
	b := ready(t)
	old := b.mustIssue(t)
	keys, err := b.SigningKeys(t.Context())
	if err != nil || len(keys) != 1 {
		t.Fatalf("keys %+v, %v", keys, err)
	}
	if _, err := b.RotateKey(t.Context(), "0000000000000000", b.owner, b.at); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("rotating a key that is not in use: %v", err)
	}
	b.at = b.at.Add(time.Minute)
	next, err := b.RotateKey(t.Context(), keys[0].ID, b.owner, b.at)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.RotateKey(t.Context(), keys[0].ID, b.owner, b.at); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("rotated twice from the same page: %v", err)
	}
	if got := b.standing(t, old).Standing; got != warranty.Genuine {
		t.Errorf("a card of the retired key is %s", got)
	}
	code, err := b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "lost")
	if err != nil {
		t.Fatal(err)
	}
	if card, _ := b.cards(t).Newest(); card.Code != code || card.Signed.KeyID != next {
		t.Errorf("signed with %s, want %s", card.Signed.KeyID, next)
	}
	keys, err = b.SigningKeys(t.Context())
	if err != nil || len(keys) != 2 || keys[0].ID != next || keys[1].RetiredAt.IsZero() ||
		keys[1].RetiredBy != b.owner.Name {
		t.Errorf("keys %+v, %v", keys, err)
	}
}

// A rotation that waited for a card under way retires the key after it, not before.
func TestRotationWaitsForCardsUnderWay(t *testing.T) {
	t.Parallel()
	b := ready(t)
	code := b.mustIssue(t)
	keys, err := b.SigningKeys(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	// a clock that runs behind
	if _, err := b.RotateKey(t.Context(), keys[0].ID, b.owner, b.at.Add(-time.Hour)); err != nil {
		t.Fatal(err)
	}
	if got := b.standing(t, code).Standing; got != warranty.Genuine {
		t.Errorf("the card is %s", got)
	}
}
