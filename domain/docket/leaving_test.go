package docket_test

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

var leavingNumber = docket.Number{Year: 2026, Seq: 42}

func leaving() docket.Leaving {
	return docket.Leaving{CollectedBy: "Ada Quillmarsh", Proof: docket.ProofTicket, Ticket: leavingNumber.String(),
		OldParts: docket.OldPartsReturned}
}

func fields(bad map[string]string) string { return strings.Join(slices.Sorted(maps.Keys(bad)), " ") }

func TestLeavingProblems(t *testing.T) {
	t.Parallel()
	other := docket.Number{Year: 2026, Seq: 43}
	mistyped := []byte(leavingNumber.String())
	mistyped[4]++ // one digit
	for name, c := range map[string]struct {
		change func(*docket.Leaving)
		want   string
		says   string
	}{
		"good":           {func(*docket.Leaving) {}, "", ""},
		"compact":        {func(l *docket.Leaving) { l.Ticket = leavingNumber.Compact() }, "", ""},
		"lower case":     {func(l *docket.Leaving) { l.Ticket = strings.ToLower(leavingNumber.String()) }, "", ""},
		"nobody":         {func(l *docket.Leaving) { l.CollectedBy = "" }, "collected_by", "name"},
		"long name":      {func(l *docket.Leaving) { l.CollectedBy = strings.Repeat("ж", 201) }, "collected_by", "200"},
		"ticket alone":   {func(l *docket.Leaving) { l.Proof = "" }, "", ""},
		"no proof":       {func(l *docket.Leaving) { l.Proof, l.Ticket = "", "" }, "ticket", "Without it, say below"},
		"no number":      {func(l *docket.Leaving) { l.Ticket = "" }, "ticket", "Scan"},
		"not a number":   {func(l *docket.Leaving) { l.Ticket = "the blue one" }, "ticket", "not a docket number"},
		"mistyped":       {func(l *docket.Leaving) { l.Ticket = string(mistyped) }, "ticket", "check character"},
		"another docket": {func(l *docket.Leaving) { l.Ticket = other.String() }, "ticket", other.String()},
		"identity, how":  {func(l *docket.Leaving) { l.Proof = docket.ProofIdentity }, "identity shown", ""},
		"something else": {func(l *docket.Leaving) { l.Proof, l.Shown = docket.ProofIdentity, docket.ShownOther }, "identity", "how"},
		"odd document":   {func(l *docket.Leaving) { l.Shown = "library-card" }, "shown", "Choose"},
		"identity, done": {func(l *docket.Leaving) {
			l.Proof, l.Shown, l.Identity = docket.ProofIdentity, docket.ShownPassport, "name as on the docket"
		}, "", ""},
		"identity, long": {func(l *docket.Leaving) {
			l.Proof, l.Shown, l.Identity = docket.ProofIdentity, docket.ShownPassport, strings.Repeat("x", 501)
		},
			"identity", "500"},
		"old parts unsaid": {func(l *docket.Leaving) { l.OldParts = "" }, "old_parts", "old parts"},
		"old parts odd":    {func(l *docket.Leaving) { l.OldParts = "eaten" }, "old_parts", "old parts"},
	} {
		l := leaving()
		c.change(&l)
		bad := l.Tidied().Problems(leavingNumber, docket.House{Customer: "ada  quillmarsh"})
		if got := fields(bad); got != c.want {
			t.Errorf("%s: problems of %q, want %q", name, got, c.want)
		}
		if c.says != "" && !strings.Contains(bad[c.want], c.says) {
			t.Errorf("%s: says %q, want %q in it", name, bad[c.want], c.says)
		}
	}
}

// Without a ticket all that the house asks is done; only the owner does with less, in words. With the ticket, somebody else
// than the customer shows something.
func TestLeavingByTheRuleOfTheHouse(t *testing.T) {
	t.Parallel()
	asks := []string{"Statement signed.", "Customer rung."}
	without := docket.Leaving{CollectedBy: "Ada Quillmarsh", Shown: docket.ShownPassport, OldParts: docket.OldPartsNone}
	for name, c := range map[string]struct {
		change func(*docket.Leaving)
		owner  bool
		want   string
	}{
		"nothing done":           {func(*docket.Leaving) {}, false, "done"},
		"half done":              {func(l *docket.Leaving) { l.Done = asks[:1] }, false, "done"},
		"all done":               {func(l *docket.Leaving) { l.Done = asks }, false, ""},
		"another rule":           {func(l *docket.Leaving) { l.Done = []string{"Statement signed.", "Customer known."} }, false, "done"},
		"words of a clerk":       {func(l *docket.Leaving) { l.Identity = "I know her" }, false, "done"},
		"words of the owner":     {func(l *docket.Leaving) { l.Identity, l.Shown = "My sister", "" }, true, ""},
		"the owner, silent":      {func(*docket.Leaving) {}, true, "done"},
		"ticket, another":        {func(l *docket.Leaving) { l.Ticket, l.Shown, l.CollectedBy = leavingNumber.Compact(), "", "Ben" }, false, "shown"},
		"ticket, another, shown": {func(l *docket.Leaving) { l.Ticket, l.CollectedBy = leavingNumber.Compact(), "Ben" }, false, ""},
	} {
		l := without
		c.change(&l)
		bad := l.Tidied().Problems(leavingNumber, docket.House{Customer: "Ada Quillmarsh", NoTicket: asks, Owner: c.owner})
		if got := fields(bad); got != c.want {
			t.Errorf("%s: problems of %q, want %q", name, got, c.want)
		}
	}
}

func TestCheckedWords(t *testing.T) {
	t.Parallel()
	l := docket.Leaving{Shown: docket.ShownLicence, Done: []string{"Statement signed.", "Customer rung."}, Identity: "Her brother."}
	if got, want := l.CheckedWords(), "Driving licence seen. Done as the house asks: Statement signed. Customer rung. Her brother."; got != want {
		t.Errorf("got %q", got)
	}
	if got := (docket.Leaving{Shown: docket.ShownOther, Identity: "The ring."}).CheckedWords(); got != "The ring." {
		t.Errorf("got %q", got)
	}
	if got := (docket.Leaving{}).CheckedWords(); got != "" {
		t.Errorf("got %q", got)
	}
}

// What belongs to the other proof is not kept.
func TestLeavingKeepsOneProof(t *testing.T) {
	t.Parallel()
	l := leaving()
	l.Done, l.CollectedBy = []string{"Customer rung."}, "  Ada \u202e Quillmarsh\n"
	if got := l.Tidied(); got.Done != nil || got.CollectedBy != "Ada Quillmarsh" {
		t.Errorf("tidied to %+v", got)
	}
	l.Proof = docket.ProofIdentity
	if got := l.Tidied(); got.Ticket != "" {
		t.Errorf("tidied to %+v", got)
	}
}

// The stages that a watch can leave from, written out once more beside the table of moves.
func TestLeavingMove(t *testing.T) {
	t.Parallel()
	want := map[docket.Stage]docket.Stage{docket.StageReady: docket.StageHandedOver,
		docket.StageDeclined: docket.StageDeclined, docket.StageWithdrawn: docket.StageWithdrawn}
	for _, from := range docket.Stages() {
		m, ok := docket.LeavingMove(from)
		if to, leaves := want[from]; ok != leaves || m.To != to {
			t.Errorf("%s: %v %v, want %v %v", from, m.To, ok, to, leaves)
		}
	}
	m, _ := docket.LeavingMove(docket.StageReady)
	for _, n := range docket.BesidesLeaving(m.Needs) {
		if strings.Contains(n.Words, "collects") || strings.Contains(n.Words, "old parts") {
			t.Errorf("%s is recorded by the leaving itself", n.Key)
		}
	}
	if got := len(docket.BesidesLeaving(m.Needs)); got != len(m.Needs)-2 || len(m.Needs) != 6 {
		t.Errorf("%d of %d needs are left", got, len(m.Needs))
	}
}

func TestFinalTestOpen(t *testing.T) {
	t.Parallel()
	for _, st := range docket.Stages() {
		if got := (docket.Docket{Stage: st}).FinalTestOpen(); got != (st == docket.StageFinalTest) {
			t.Errorf("%s: open %v", st, got)
		}
	}
}

func TestPaymentProblems(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		p         docket.Payment
		paid, due int64
		want      string
	}{
		"what is due":     {docket.Payment{Minor: 26060, Method: docket.Cash}, 10000, 26060, ""},
		"part":            {docket.Payment{Minor: 1, Method: docket.Card}, 0, 26060, ""},
		"nothing":         {docket.Payment{Method: docket.Cash}, 0, 100, "amount"},
		"too much":        {docket.Payment{Minor: 26061, Method: docket.Cash}, 0, 26060, "beyond"},
		"deposit":         {docket.Payment{Minor: 5000, Method: docket.Cash, Beyond: true}, 0, 0, ""},
		"deposit unsaid":  {docket.Payment{Minor: 5000, Method: docket.Cash}, 0, 0, "beyond"},
		"no method":       {docket.Payment{Minor: 1}, 0, 1, "method"},
		"odd method":      {docket.Payment{Minor: 1, Method: "shells"}, 0, 1, "method"},
		"otherwise":       {docket.Payment{Minor: 1, Method: docket.OtherWay}, 0, 1, "note"},
		"otherwise, said": {docket.Payment{Minor: 1, Method: docket.OtherWay, Note: "voucher 12"}, 0, 1, ""},
		"back":            {docket.Payment{Minor: -500, Method: docket.Cash, Note: "part not fitted"}, 500, 0, ""},
		"back, why":       {docket.Payment{Minor: -500, Method: docket.Cash}, 500, 0, "note"},
		"back too much":   {docket.Payment{Minor: -501, Method: docket.Cash, Note: "x"}, 500, 0, "amount"},
		"back of nothing": {docket.Payment{Minor: -1, Method: docket.Cash, Note: "x"}, -5, 0, "amount"},
		"the most":        {docket.Payment{Minor: 99_999_999_999, Method: docket.Cash, Beyond: true}, 0, 0, ""},
		"the most back":   {docket.Payment{Minor: -99_999_999_999, Method: docket.Cash, Note: "x"}, 100_000_000_000, 0, ""},
		"noughts back": {docket.Payment{Minor: -100_000_000_000, Method: docket.Cash, Note: "x"}, 100_000_000_000, 0,
			"amount"},
		"noughts":       {docket.Payment{Minor: 100_000_000_000, Method: docket.Cash, Beyond: true}, 0, 0, "amount"},
		"note too long": {docket.Payment{Minor: 1, Method: docket.Cash, Note: strings.Repeat("é", 501)}, 0, 1, "note"},
	} {
		if got := fields(c.p.Problems(c.paid, c.due)); got != c.want {
			t.Errorf("%s: problems of %q, want %q", name, got, c.want)
		}
	}
}

func TestChargeProblems(t *testing.T) {
	t.Parallel()
	amount := func(n int64) *int64 { return &n }
	said := time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	above := func(w docket.Word) docket.Charge {
		return docket.Charge{Minor: amount(15000), Reason: "a strap besides", Word: w}
	}
	for name, c := range map[string]struct {
		charge docket.Charge
		role   staff.Role
		want   string
	}{
		"more, allowed": {docket.Charge{Minor: amount(12000), Reason: "a strap besides"}, staff.Clerk, ""},
		"more, clerk":   {docket.Charge{Minor: amount(12001), Reason: "a strap besides"}, staff.Clerk, "word"},
		"more, owner":   {docket.Charge{Minor: amount(12001), Reason: "a strap besides"}, staff.Owner, "word"},
		"her word":      {above(docket.Word{How: docket.SaidByPhone, On: said, By: "Nuala Reed"}), staff.Clerk, ""},
		"no day":        {above(docket.Word{How: docket.SaidInPerson, By: "Nuala Reed"}), staff.Clerk, "word_on"},
		"day to come":   {above(docket.Word{How: docket.SaidInPerson, On: said.AddDate(0, 0, 2), By: "N"}), staff.Clerk, "word_on"},
		"nobody":        {above(docket.Word{How: docket.SaidInLetter, On: said, By: " "}), staff.Clerk, "word_by"},
		"no such way":   {above(docket.Word{How: "rumour", On: said, By: "N"}), staff.Owner, "word"},
		"owner decides": {above(docket.Word{How: docket.OwnerDecided}), staff.Owner, ""},
		"clerk decides": {above(docket.Word{How: docket.OwnerDecided}), staff.Clerk, "word"},
		"bench decides": {above(docket.Word{How: docket.OwnerDecided}), staff.Watchmaker, "word"},
		"less, clerk":   {docket.Charge{Minor: amount(9999), Reason: "a friend"}, staff.Clerk, "charged"},
		"as agreed":     {docket.Charge{Minor: amount(10000), Reason: "no strap after all"}, staff.Clerk, ""},
		"less, owner":   {docket.Charge{Minor: amount(0), Reason: "our mistake"}, staff.Owner, ""},
		"back, clerk":   {docket.Charge{Reason: "was for another watch"}, staff.Clerk, ""},
		"no reason":     {docket.Charge{Minor: amount(10000)}, staff.Owner, "reason"},
		"blank reason":  {docket.Charge{Minor: amount(10000), Reason: " \n"}, staff.Owner, "reason"},
		"below nought":  {docket.Charge{Minor: amount(-1), Reason: "x"}, staff.Owner, "charged"},
		"reason's long": {docket.Charge{Minor: amount(10000), Reason: strings.Repeat("x", 2001)}, staff.Owner, "reason"},
	} {
		if got := fields(c.charge.Problems(10000, 12000, c.role, said.Add(9*time.Hour))); got != c.want {
			t.Errorf("%s: problems of %q, want %q", name, got, c.want)
		}
	}
}

func TestWordSentences(t *testing.T) {
	t.Parallel()
	amount, said := int64(15000), time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	for want, w := range map[string]docket.Word{
		"": {},
		"The customer agreed by telephone on Mon 9 Mar 2026, told to Nuala Reed.":        {How: docket.SaidByPhone, On: said, By: "Nuala Reed"},
		"The customer agreed in person on Mon 9 Mar 2026, told to Nuala Reed.":           {How: docket.SaidInPerson, On: said, By: "Nuala Reed"},
		"The customer agreed by letter or e-mail on Mon 9 Mar 2026, told to Emrys Vale.": {How: docket.SaidInLetter, On: said, By: "Emrys Vale"},
		"Above what was agreed by the owner's decision, Ottilie Brandt.":                 {How: docket.OwnerDecided, By: "Ottilie Brandt"},
	} {
		if got := w.Sentence(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
		if got := (docket.Charge{Minor: &amount, Word: w}).Summary("EUR"); got != strings.TrimSpace("Charged: 150.00 EUR in total. "+want) {
			t.Errorf("the journal says %q", got)
		}
	}
}

func TestMethodsHaveWords(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, m := range docket.Methods() {
		if w := m.Words(); w == "" || seen[w] {
			t.Errorf("%q: words %q", m, w)
		}
		seen[m.Words()] = true
	}
	for _, o := range docket.OldPartsAnswers() {
		if o.Words() == docket.OldParts("").Words() {
			t.Errorf("%q has no words", o)
		}
	}
}

func TestOldPartsKeptAreNotNone(t *testing.T) {
	t.Parallel()
	kept := []string{"mainspring", "crown"}
	if why := docket.OldPartsNone.Problem(kept); !strings.Contains(why, "mainspring; crown") {
		t.Errorf("says %q", why)
	}
	if docket.OldPartsNone.Problem(nil) != "" || docket.OldPartsLeft.Problem(kept) != "" ||
		docket.OldPartsReturned.Problem(kept) != "" {
		t.Error("a fair answer is refused")
	}
}
