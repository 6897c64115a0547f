package books_test

import (
	"bytes"
	"encoding/csv"
	"os/exec"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/books"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/till"
)

var first = time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)

// drawn are the facts of a month in random order.
func drawn(t *rapid.T) books.Facts {
	var f books.Facts
	day := func() time.Time { return first.AddDate(0, 0, rapid.IntRange(0, 30).Draw(t, "day")) }
	rates := func(n string) (list []estimate.RateTotal, gross int64) {
		for _, r := range []int{0, 700, 2000} {
			if rapid.Bool().Draw(t, n) {
				net := rapid.Int64Range(0, 100_000).Draw(t, "net")
				tax := net * int64(r) / 10_000
				list = append(list, estimate.RateTotal{TaxBasisPoints: r, NetMinor: net, TaxMinor: tax, GrossMinor: net + tax})
				gross += net + tax
			}
		}
		return list, gross
	}
	for range rapid.IntRange(0, 12).Draw(t, "documents") {
		i := books.Invoice{On: day(), Number: "2027-0001", Kind: rapid.SampledFrom(invoice.Kinds).Draw(t, "kind"),
			Treatment: rapid.SampledFrom(invoice.Treatments).Draw(t, "treatment")}
		i.Rates, i.GrossMinor = rates("rate")
		i.OfDeposit = i.Kind == invoice.Credit && rapid.Bool().Draw(t, "of deposit")
		if i.Kind == invoice.Bill {
			i.SetOffs, _ = rates("set off")
		}
		f.Invoices = append(f.Invoices, i)
	}
	for range rapid.IntRange(0, 20).Draw(t, "payments") {
		f.Payments = append(f.Payments, books.Payment{On: day(), Docket: "27-00001-X", Way: rapid.SampledFrom([]till.Way{till.Cash, "card", "transfer", "other"}).Draw(t, "way"),
			Minor: rapid.Int64Range(-50_000, 50_000).Draw(t, "paid"), RoundedMinor: rapid.Int64Range(-2, 2).Draw(t, "rounded"), Earlier: rapid.IntRange(0, 9).Draw(t, "earlier") == 0})
	}
	for range rapid.IntRange(0, 8).Draw(t, "moves") {
		f.Moves = append(f.Moves, books.Move{On: day(), Kind: rapid.SampledFrom(till.MoveKinds).Draw(t, "move"), Minor: rapid.Int64Range(-50_000, 50_000).Draw(t, "moved"),
			Note: rapid.SampledFrom([]string{"", "=1+1", "stamps, \"first class\"", "two\nlines"}).Draw(t, "note")})
	}
	for range rapid.IntRange(0, 4).Draw(t, "counts") {
		f.Counts = append(f.Counts, books.Count{On: day(), Minor: rapid.Int64Range(-500, 500).Draw(t, "off")})
	}
	return f
}

// Whatever happened, the entries of each voucher and of each day balance to the minor unit, and the accounts come to what was
// billed, paid and counted, added up one by one.
func TestTheBooksBalance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := drawn(t)
		lines := books.Lines(f)
		days, accounts := map[time.Time]int64{}, map[books.Account]int64{}
		for i, l := range lines {
			if (l.DebitMinor > 0) == (l.CreditMinor > 0) || l.DebitMinor < 0 || l.CreditMinor < 0 {
				t.Fatalf("line %+v has not one side", l)
			}
			if i > 0 && l.On.Before(lines[i-1].On) {
				t.Fatal("the days are out of order")
			}
			days[l.On] += l.DebitMinor - l.CreditMinor
			accounts[l.Account] += l.DebitMinor - l.CreditMinor
		}
		for on, off := range days {
			if off != 0 {
				t.Fatalf("%s is out of balance by %d", on, off)
			}
		}
		debtors, cash, tax := int64(0), int64(0), int64(0)
		for _, i := range f.Invoices {
			sign := int64(1)
			if i.Kind == invoice.Credit {
				sign = -1
			}
			debtors += sign * i.GrossMinor
			for _, r := range i.Rates {
				if r.TaxBasisPoints == 2000 {
					tax -= sign * r.TaxMinor
				}
			}
		}
		for _, p := range f.Payments {
			debtors -= p.Minor - p.RoundedMinor
			if p.Way == till.Cash && !p.Earlier {
				cash += p.Minor
			}
		}
		for _, m := range f.Moves {
			cash += m.Minor
		}
		for _, c := range f.Counts {
			cash += c.Minor
		}
		if accounts[books.Debtors] != debtors || accounts[books.Way(till.Cash)] != cash || accounts[books.Tax(2000)] != tax {
			t.Fatalf("customers %d, cash %d, tax %d; by hand %d, %d, %d", accounts[books.Debtors], accounts[books.Way(till.Cash)], accounts[books.Tax(2000)], debtors, cash, tax)
		}
		if got := books.Total(f).OwedMinor; got != debtors {
			t.Fatalf("owed rose by %d, by hand %d", got, debtors)
		}
		// The sums of days come to the same by account.
		by := map[books.Account]int64{}
		for _, l := range books.ByDay(lines) {
			by[l.Account] += l.DebitMinor - l.CreditMinor
		}
		for a, want := range accounts {
			if by[a] != want {
				t.Fatalf("%s: the days come to %d, the lines to %d", a, by[a], want)
			}
		}
	})
}

// A deposit is no sale until the bill takes it off: a worked example. 1200.00 with 20 % tax was agreed, 240.00 of it asked for
// before; the bill is over the other 960.00, and 1000.00 are sold in all.
func TestADepositIsSoldByTheBill(t *testing.T) {
	t.Parallel()
	rate := func(net, tax int64) []estimate.RateTotal {
		return []estimate.RateTotal{{TaxBasisPoints: 2000, NetMinor: net, TaxMinor: tax, GrossMinor: net + tax}}
	}
	f := books.Facts{Invoices: []books.Invoice{{On: first, Number: "1", Kind: invoice.Deposit, Rates: rate(20_000, 4_000), GrossMinor: 24_000},
		{On: first.AddDate(0, 0, 9), Number: "2", Kind: invoice.Bill, Rates: rate(80_000, 16_000), SetOffs: rate(20_000, 4_000), GrossMinor: 96_000}}}
	sums := func(f books.Facts) map[books.Account]int64 {
		all := map[books.Account]int64{}
		for _, s := range books.Sums(books.Lines(f)) {
			all[s.Account] = s.DebitMinor - s.CreditMinor
		}
		return all
	}
	early := sums(books.Facts{Invoices: f.Invoices[:1]})
	if early[books.Sales(2000)] != 0 || early[books.Prepaid] != -20_000 || early[books.Tax(2000)] != -4_000 {
		t.Errorf("after the deposit invoice: %v", early)
	}
	if all := sums(f); all[books.Sales(2000)] != -100_000 || all[books.Prepaid] != 0 || all[books.Tax(2000)] != -20_000 || all[books.Debtors] != 120_000 {
		t.Errorf("after the bill: %v", all)
	}
	if total := books.Total(f); total.BilledMinor != 120_000 {
		t.Errorf("billed %d", total.BilledMinor)
	}
}

// The file is read by encoding/csv and, where it is at hand, by Python's csv, and adds up to the same in both; a text that a
// spreadsheet would run stays a text. RFC 4180 has lines end in CR and LF.
func TestTheFileIsReadElsewhere(t *testing.T) {
	t.Parallel()
	f := rapid.Custom(drawn).Example(20261201)
	f.Moves = append(f.Moves, books.Move{On: first, Kind: till.Expense, Minor: -450, Note: "=SUM(A1), \"two\"\r\nlines"})
	lines := books.Lines(f)
	want := int64(0)
	for _, l := range lines {
		want += l.DebitMinor
	}
	for _, code := range []string{"EUR", "JPY", "KWD"} {
		var file bytes.Buffer
		if err := books.WriteCSV(&file, lines, code, []books.Named{{Account: books.Debtors, Number: "=1400", Name: "Müller, \"Söhne\""}}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(file.String(), "\r\n") {
			t.Error("lines end otherwise than RFC 4180 has them")
		}
		rows, err := csv.NewReader(bytes.NewReader(file.Bytes())).ReadAll()
		if err != nil || len(rows) != len(lines)+1 {
			t.Fatalf("%d rows for %d lines: %v", len(rows), len(lines), err)
		}
		got := int64(0)
		for _, row := range rows[1:] {
			for _, cell := range row {
				if strings.HasPrefix(cell, "=") {
					t.Errorf("a spreadsheet would run %q", cell)
				}
			}
			if row[5] != "" {
				minor, err := money.Parse(row[5], code, "en-GB")
				if err != nil {
					t.Fatal(err)
				}
				got += minor
			}
		}
		if got != want {
			t.Errorf("%s: read %d, written %d", code, got, want)
		}
		python, err := exec.LookPath("python3")
		if err != nil {
			t.Log("no Python here to read it")
			continue
		}
		digits, _ := money.Digits(code)
		cmd := exec.Command(python, "-c", `import csv, sys, io, decimal
rows = list(csv.reader(io.TextIOWrapper(sys.stdin.buffer, encoding="utf-8", newline="")))
d, c = (sum(decimal.Decimal(r[i] or "0") for r in rows[1:]) for i in (5, 6))
print(len(rows) - 1, int(d.scaleb(int(sys.argv[1]))), int(c.scaleb(int(sys.argv[1]))))`, string(rune('0'+digits)))
		cmd.Stdin = &file
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		if got, want := strings.TrimSpace(string(out)), strings.TrimSpace(money.Plain(int64(len(lines)), "JPY")+" "+money.Plain(want, "JPY")+" "+money.Plain(want, "JPY")); got != want {
			t.Errorf("%s: Python reads %s, written %s", code, got, want)
		}
	}
}

// What is sold by reverse charge is a line of its own in a return of tax (in the Union, of the recapitulative statement of the VAT
// Directive, article 262), and so is what is exempt.
func TestUntaxedSalesAreApart(t *testing.T) {
	t.Parallel()
	rates := []estimate.RateTotal{{NetMinor: 100, GrossMinor: 100}}
	var f books.Facts
	for _, treatment := range invoice.Treatments {
		f.Invoices = append(f.Invoices, books.Invoice{On: first, Kind: invoice.Bill, Number: string(treatment), Treatment: treatment, Rates: rates, GrossMinor: 100})
	}
	f.Invoices = append(f.Invoices, books.Invoice{On: first, Kind: invoice.Credit, Number: "credit", Treatment: invoice.ReverseCharge,
		Rates: []estimate.RateTotal{{NetMinor: 30, GrossMinor: 30}}, GrossMinor: 30})
	got := map[books.Account]int64{}
	for _, s := range books.Sums(books.Lines(f)) {
		got[s.Account] = s.CreditMinor - s.DebitMinor
	}
	for a, want := range map[books.Account]int64{books.Sales(0): 100, books.Untaxed(invoice.ReverseCharge): 70, books.Untaxed(invoice.Exempt): 100, books.Debtors: -270} {
		if got[a] != want {
			t.Errorf("%s: %d, not %d", a.Words(), got[a], want)
		}
	}
}
