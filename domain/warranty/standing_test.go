package warranty_test

import (
	"crypto/rand"
	"encoding/base32"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

func TestStandings(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	set := keys(t, k.PublicKey)
	c := goodCard()
	kept := sign(t, k, c)
	forged := sign(t, key(t, 9), c)
	forged.KeyID = k.ID
	voided := warranty.Fate{VoidedAt: c.IssuedAt, VoidReason: "Ines Marrow did not pay"}
	replaced := warranty.Fate{SupersededBy: "ABCDEFGHIJKLMNOQ"}
	for _, x := range []struct {
		name  string
		kept  *warranty.Signed
		fate  warranty.Fate
		today time.Time
		want  warranty.Standing
		err   error
	}{
		{"first day", &kept, warranty.Fate{}, c.StartsOn, warranty.Genuine, nil},
		{"last day", &kept, warranty.Fate{}, c.ExpiresOn, warranty.Genuine, nil},
		{"day after", &kept, warranty.Fate{}, c.ExpiresOn.AddDate(0, 0, 1), warranty.Expired, nil},
		{"void", &kept, voided, c.StartsOn, warranty.Void, nil},
		{"void and over", &kept, voided, day(2040, 1, 1), warranty.Void, nil},
		{"void and replaced", &kept, warranty.Fate{VoidedAt: c.IssuedAt, SupersededBy: replaced.SupersededBy}, c.StartsOn,
			warranty.Void, nil},
		{"replaced", &kept, replaced, c.StartsOn, warranty.Superseded, nil},
		{"never issued", nil, warranty.Fate{}, c.StartsOn, warranty.Unknown, nil},
		{"forged", &forged, warranty.Fate{}, c.StartsOn, warranty.Unknown, warranty.ErrSignature},
	} {
		got, err := warranty.Check(c.Code, x.kept, x.fate, set, x.today)
		if got.Standing != x.want || !errors.Is(err, x.err) || got.Code != c.Code {
			t.Errorf("%s: %s, %v", x.name, got.Standing, err)
		}
		text := fmt.Sprintf("%+v", got)
		for _, private := range []string{c.Watch.CaseSerial, c.Watch.MovementSerial, "42", c.WorkDone[0], c.Watch.Reference,
			"Ines", "pay", "ABCDEFGHIJKLMNOQ", "Saltby"} {
			if strings.Contains(text, private) {
				t.Errorf("%s shows %q: %s", x.name, private, text)
			}
		}
		if stands := x.want == warranty.Genuine || x.want == warranty.Expired; stands != (got.Covers == c.Covers) ||
			stands != (got.Maker == c.Watch.Maker) || stands != (got.MeanSPerDay == 2.25) || stands != got.HasFigures() {
			t.Errorf("%s shows too much or too little: %s", x.name, text)
		}
		if (x.want == warranty.Unknown) != (got.Shop == "") {
			t.Errorf("%s: shop %q", x.name, got.Shop)
		}
	}
	// A genuine card shown under another card's address proves nothing.
	if got, err := warranty.Check("ABCDEFGHIJKLMNOQ", &kept, warranty.Fate{}, set,
		c.StartsOn); got.Standing != warranty.Unknown || err == nil {
		t.Errorf("under another code: %s, %v", got.Standing, err)
	}
}

func TestWordsOfStandings(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, s := range []warranty.Standing{warranty.Genuine, warranty.Expired, warranty.Superseded, warranty.Void,
		warranty.Unknown} {
		if w := s.Words(); seen[w] || !strings.HasSuffix(w, ".") {
			t.Errorf("%s says %q", s, w)
		}
		seen[s.Words()] = true
	}
}

func TestMasked(t *testing.T) {
	t.Parallel()
	for serial, want := range map[string]string{
		"": "", "A": "…", "AB": "…B", "ABC": "…C", "ABCD": "…CD", "12345678": "…5678", "C1234567890": "…7890",
		"№№№№жжжж": "…жжжж",
	} {
		if got := warranty.Masked(serial); got != want {
			t.Errorf("Masked(%q) = %q, want %q", serial, got, want)
		}
	}
}

func TestFate(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 5, 1, 10, 0, 0, 1234, time.UTC)
	if _, err := (warranty.Fate{}).Voided(" \n", now); !errors.Is(err, warranty.ErrVoidReason) {
		t.Errorf("voided without reason: %v", err)
	}
	void, err := warranty.Fate{}.Voided(" wrong serial ", now)
	if err != nil || void.VoidReason != "wrong serial" || !void.VoidedAt.Equal(now.Truncate(time.Microsecond)) {
		t.Errorf("%+v, %v", void, err)
	}
	replaced, err := warranty.Fate{}.ReplacedBy("ABCDEFGHIJKLMNOQ")
	if err != nil || replaced.SupersededBy != "ABCDEFGHIJKLMNOQ" {
		t.Errorf("%+v, %v", replaced, err)
	}
	for _, spent := range []warranty.Fate{void, replaced} {
		if _, err := spent.Voided("again", now); !errors.Is(err, warranty.ErrSpent) {
			t.Errorf("voided again: %v", err)
		}
		if _, err := spent.ReplacedBy("ABCDEFGHIJKLMNOQ"); !errors.Is(err, warranty.ErrSpent) {
			t.Errorf("replaced again: %v", err)
		}
	}
}

func TestReissue(t *testing.T) {
	t.Parallel()
	old := goodCard()
	now := old.IssuedAt.Add(30*24*time.Hour + 3)
	next := old.Reissued("ABCDEFGHIJKLMNOQ", now)
	next.Watch.Model = "Meridian"
	if bad := warranty.CheckReissue(old, next); len(bad) > 0 {
		t.Errorf("a good reissue: %v", bad)
	}
	if next.Supersedes != old.Code || !next.IssuedAt.Equal(now.Truncate(time.Microsecond)) ||
		old.Watch.Model == "Meridian" {
		t.Errorf("%+v", next)
	}
	for field, spoil := range map[string]func(*warranty.Card){
		"supersedes": func(c *warranty.Card) { c.Supersedes = "" },
		"docket":     func(c *warranty.Card) { c.Docket = docket.Number{Year: 2026, Seq: 43} },
		"starts_on":  func(c *warranty.Card) { c.StartsOn = day(2026, 4, 1) },
		"expires_on": func(c *warranty.Card) { c.ExpiresOn = day(2027, 4, 1) },
		"covers":     func(c *warranty.Card) { c.Covers = "" },
	} {
		c := next
		spoil(&c)
		if got := slices.Collect(maps.Keys(warranty.CheckReissue(old, c))); !slices.Equal(got, []string{field}) {
			t.Errorf("%s spoilt: problems with %v", field, got)
		}
	}
}

// Cases of the end-of-month rule, by the calendar: 2028 and 2000 are leap years, 2026, 2027 and 2100 are not.
func TestExpires(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		start  time.Time
		months int
		want   time.Time
	}{
		{day(2026, 3, 31), 12, day(2027, 3, 31)},
		{day(2026, 1, 31), 1, day(2026, 2, 28)},
		{day(2028, 1, 31), 1, day(2028, 2, 29)},
		{day(2028, 2, 29), 12, day(2029, 2, 28)},
		{day(2028, 2, 29), 48, day(2032, 2, 29)},
		{day(2026, 2, 28), 12, day(2027, 2, 28)}, // not the month's last day but the same day
		{day(2027, 2, 28), 12, day(2028, 2, 28)},
		{day(2026, 8, 31), 6, day(2027, 2, 28)},
		{day(2026, 8, 31), 3, day(2026, 11, 30)},
		{day(2026, 10, 31), 1, day(2026, 11, 30)},
		{day(2026, 12, 15), 1, day(2027, 1, 15)},
		{day(2026, 12, 31), 24, day(2028, 12, 31)},
		{day(2099, 1, 30), 13, day(2100, 2, 28)},
	} {
		if got := warranty.Expires(c.start, c.months); !got.Equal(c.want) {
			t.Errorf("%s and %d months: %s, want %s", c.start.Format(time.DateOnly), c.months, got.Format(time.DateOnly),
				c.want.Format(time.DateOnly))
		}
	}
	// Against the standard library where no day is lost, and never by more than a month's end where one is.
	for d := day(2026, 1, 1); d.Before(day(2029, 1, 1)); d = d.AddDate(0, 0, 1) {
		for _, months := range []int{1, 6, 12, 25} {
			got, plain := warranty.Expires(d, months), d.AddDate(0, months, 0)
			if plain.Day() == d.Day() && !got.Equal(plain) || plain.Day() != d.Day() &&
				!got.Equal(plain.AddDate(0, 0, -plain.Day())) {
				t.Errorf("%s and %d months: %s", d.Format(time.DateOnly), months, got.Format(time.DateOnly))
			}
		}
	}
}

func TestTermsProblems(t *testing.T) {
	t.Parallel()
	if bad := (warranty.Terms{Months: 12, Covers: "All."}).Problems(); len(bad) > 0 {
		t.Errorf("%v", bad)
	}
	for _, terms := range []warranty.Terms{{0, " "}, {121, ""}, {-1, strings.Repeat("é", 601)}} {
		if bad := terms.Problems(); bad["months"] == "" || bad["covers"] == "" {
			t.Errorf("%+v: %v", terms, bad)
		}
	}
}

func TestCardProblems(t *testing.T) {
	t.Parallel()
	if bad := goodCard().Problems(); len(bad) > 0 {
		t.Fatalf("a good card: %v", bad)
	}
	for name, c := range map[string]struct {
		field string
		spoil func(*warranty.Card)
	}{
		"no code":          {"code", func(c *warranty.Card) { c.Code = "" }},
		"replaces itself":  {"supersedes", func(c *warranty.Card) { c.Supersedes = c.Code }},
		"no docket":        {"docket", func(c *warranty.Card) { c.Docket = docket.Number{} }},
		"no shop":          {"shop", func(c *warranty.Card) { c.Shop.Name = " " }},
		"no maker":         {"maker", func(c *warranty.Card) { c.Watch.Maker = "" }},
		"long model":       {"model", func(c *warranty.Card) { c.Watch.Model = strings.Repeat("é", 121) }},
		"two-line model":   {"model", func(c *warranty.Card) { c.Watch.Model = "a\nb" }},
		"broken serial":    {"case_serial", func(c *warranty.Card) { c.Watch.CaseSerial = "\xff" }},
		"no work":          {"work_done", func(c *warranty.Card) { c.WorkDone = nil }},
		"too much work":    {"work_done", func(c *warranty.Card) { c.WorkDone = make([]string, 13) }},
		"covers nothing":   {"covers", func(c *warranty.Card) { c.Covers = "\n" }},
		"covers too long":  {"covers", func(c *warranty.Card) { c.Covers = strings.Repeat("x", 601) }},
		"covers no text":   {"covers", func(c *warranty.Card) { c.Covers = "a\x00" }},
		"no number":        {"final", func(c *warranty.Card) { c.Final.MeanSPerDay = math.NaN() }},
		"endless rate":     {"final", func(c *warranty.Card) { c.Final.Rates[0].RateSPerDay = math.Inf(1) }},
		"negative spread":  {"final", func(c *warranty.Card) { c.Final.DeltaSPerDay = -1 }},
		"too many rates":   {"final", func(c *warranty.Card) { c.Final.Rates = make([]warranty.Rate, 25) }},
		"never issued":     {"issued_at", func(c *warranty.Card) { c.IssuedAt = time.Time{} }},
		"no start":         {"starts_on", func(c *warranty.Card) { c.StartsOn = time.Time{} }},
		"start not a date": {"starts_on", func(c *warranty.Card) { c.StartsOn = c.IssuedAt }},
		"ends first":       {"expires_on", func(c *warranty.Card) { c.ExpiresOn = day(2026, 3, 30) }},
		"end not a date":   {"expires_on", func(c *warranty.Card) { c.ExpiresOn = c.ExpiresOn.Add(1) }},
		"a day too long": {"expires_on", func(c *warranty.Card) {
			c.ExpiresOn = warranty.Expires(c.StartsOn, 120).AddDate(0, 0, 1)
		}},
	} {
		card := goodCard()
		c.spoil(&card)
		if got := slices.Collect(maps.Keys(card.Problems())); !slices.Equal(got, []string{c.field}) {
			t.Errorf("%s: problems with %v, want %s", name, got, c.field)
		}
	}
	card := goodCard()
	card.ExpiresOn = warranty.Expires(card.StartsOn, 120)
	if bad := card.Problems(); len(bad) > 0 {
		t.Errorf("the longest term: %v", bad)
	}
}

func TestCodes(t *testing.T) {
	t.Parallel()
	seen := map[warranty.Code]bool{}
	for range 1000 {
		c, err := warranty.NewCode(rand.Reader)
		if err != nil || len(c) != 16 || seen[c] {
			t.Fatalf("%q, %v", c, err)
		}
		seen[c] = true
		for _, typed := range []string{string(c), c.Grouped(), strings.ToLower(c.Grouped()), " " + string(c) + "\n"} {
			if got, err := warranty.ParseCode(typed); err != nil || got != c {
				t.Fatalf("ParseCode(%q) = %q, %v", typed, got, err)
			}
		}
	}
	if got, err := warranty.ParseCode("o0i1-b8aa-aaaa-aaaa"); err != nil || got != "OOIIBBAAAAAAAAAA" {
		t.Errorf("look-alikes: %q, %v", got, err)
	}
	for _, s := range []string{"", "ABCD", "ABCDEFGHIJKLMNO", "ABCDEFGHIJKLMNOPQ", "ABCDEFGHIJKLMN9P", "ABCDEFGHIJKLMN==",
		"ABCDEFGHIJKLMNÖP",
		"ABCDEFGHIJKLMNOPABCDEFGH"} {
		if got, err := warranty.ParseCode(s); !errors.Is(err, warranty.ErrCodeShape) {
			t.Errorf("ParseCode(%q) = %q, %v", s, got, err)
		}
	}
	if _, err := warranty.NewCode(strings.NewReader("123456789")); err == nil {
		t.Error("nine random bytes were enough")
	}
	// RFC 4648, section 10: "foobar" is MZXW6YTBOI======; ten bytes need no padding.
	c, err := warranty.NewCode(strings.NewReader("foobarfoob"))
	if err != nil || !strings.HasPrefix(string(c), "MZXW6YTBO") ||
		string(c) != base32.StdEncoding.EncodeToString([]byte("foobarfoob")) {
		t.Errorf("NewCode of foobar: %q, %v", c, err)
	}
	if got := warranty.Code("ABCDEFGHIJKLMNOP").Grouped(); got != "ABCD-EFGH-IJKL-MNOP" {
		t.Errorf("Grouped = %q", got)
	}
	if got := warranty.Code("AB").Grouped(); got != "AB" {
		t.Errorf("Grouped = %q", got)
	}
}
