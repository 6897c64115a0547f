package demoshop

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// testNow is a Monday morning before the shop opens: the last working day is a Saturday.
var testNow = time.Date(2026, 11, 23, 7, 30, 0, 0, time.UTC)

func openUploads(t testing.TB) *files.Folder {
	t.Helper()
	u, err := files.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// record is everything that a test looks at of a filled shop.
type record struct {
	heads   []store.Head
	entries map[int64][]docket.Entry // by docket, oldest first
}

func read(t testing.TB, s *store.Store) record {
	t.Helper()
	ctx := t.Context()
	rows, _ := s.Pool().Query(ctx, `SELECT year, seq FROM docket ORDER BY id`)
	numbers, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (n docket.Number, err error) {
		return n, row.Scan(&n.Year, &n.Seq)
	})
	if err != nil {
		t.Fatal(err)
	}
	r := record{entries: map[int64][]docket.Entry{}}
	for _, n := range numbers {
		h, err := s.Head(ctx, n)
		if err != nil {
			t.Fatal(err)
		}
		r.heads = append(r.heads, h)
		var all []docket.Entry
		for before := int64(0); ; {
			page, err := s.Journal(ctx, h.Docket.ID, before)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, page...)
			if len(page) < store.JournalPage {
				break
			}
			before = page[len(page)-1].Seq
		}
		slices.Reverse(all)
		r.entries[h.Docket.ID] = all
	}
	return r
}

// lines says of each docket what must come out the same however it was filled.
func (r record) lines() []string {
	var out []string
	for _, h := range r.heads {
		entries := r.entries[h.Docket.ID]
		out = append(out, fmt.Sprintf("%s %s %s %s %d %s", h.Docket.Number, h.Docket.Stage, h.Customer.Name, h.Watch.Title(),
			h.Docket.Version,
			entries[len(entries)-1].At))
	}
	return out
}

// mostTrips bounds what one filling asks of the database; a run says what it came to. Each evening with work in the shop takes one to look at
// the till, each watch that leaves two for its bill, and 1300 are orders: what each needs, its draft, what is sent, and what came, as the pages
// ask for them. Each watch taken in takes two for the day that is proposed.
const mostTrips = 15800

func TestFill(t *testing.T) {
	t.Parallel()
	s, uploads := storetest.New(t), openUploads(t)
	ctx, trips := storetest.CountRoundTrips(t.Context())
	if err := Fill(ctx, s, uploads, testNow); err != nil {
		t.Fatal(err)
	}
	n := trips.Trips()
	t.Logf("filling took %d round trips", n)
	if n > mostTrips {
		t.Errorf("filling took %d round trips, want at most %d", n, mostTrips)
	}
	r := read(t, s)
	t.Run("stages", func(t *testing.T) { checkStages(t, r) })
	t.Run("journals", func(t *testing.T) { checkJournals(t, s, r) })
	t.Run("journals in words", func(t *testing.T) { checkWords(t, r) })
	t.Run("people keep to what they may do", func(t *testing.T) { checkAuthors(t, r) })
	t.Run("kinds of trouble", func(t *testing.T) { checkVariety(t, s, r) })
	t.Run("cards", func(t *testing.T) { checkCards(t, s, r) })
	t.Run("till", func(t *testing.T) { checkTill(t, s, r) })
	t.Run("sounds", func(t *testing.T) { checkSounds(t, s, uploads) })
	t.Run("photographs", func(t *testing.T) { checkPhotos(t, s, uploads) })
	t.Run("every sheet is read", func(t *testing.T) { checkSheets(t, s, r) })
	t.Run("interrupted", func(t *testing.T) { checkGoesOn(t, r) })
	t.Run("again", func(t *testing.T) {
		ctx, trips := storetest.CountRoundTrips(t.Context())
		if err := Fill(ctx, s, uploads, testNow.AddDate(0, 0, 9)); err != nil {
			t.Fatal(err)
		}
		// The look for the first docket, year by year, and at the last.
		if n := trips.Trips(); n > yearsLookedBack+6 {
			t.Errorf("finding it filled took %d round trips", n)
		}
		if again := read(t, s).lines(); !slices.Equal(again, r.lines()) {
			t.Errorf("the second filling changed the dockets:\n%v", again)
		}
	})
	t.Run("true minus", func(t *testing.T) { checkMinus(t, s, uploads, r) })
	t.Run("documents stay", func(t *testing.T) { checkDocuments(t, s, uploads, r) })
}

// hyphenForMinus is a hyphen before a figure where a minus belongs.
var hyphenForMinus = regexp.MustCompile(`(?:^|[\s(±])-[0-9.][^ ]*`)

// checkMinus reads what every sheet and paper of the demo says and finds no hyphen where a minus belongs. A PDF says what
// its page does (package paper).
func checkMinus(t *testing.T, s *store.Store, uploads *files.Folder, r record) {
	owner := demoOwner(t, s, uploads)
	addresses := []string{"/", "/dockets", "/calibres", "/recorders", "/rate-limits"}
	for _, h := range r.heads {
		for _, sheet := range []string{"", "/intake", "/diagnosis", "/estimate", "/parts", "/service", "/regulation",
			"/advice", "/trial", "/final-test", "/hand-over", "/journal", "/papers/bulletin", "/papers/trial",
			"/papers/invoice", "/papers/estimate"} {
			addresses = append(addresses, "/dockets/"+h.Docket.Number.String()+sheet)
		}
	}
	pages := 0
	for _, address := range addresses {
		page := owner.Get(address)
		if page.Status != http.StatusOK {
			continue // not every docket has every paper
		}
		pages++
		if wrong := hyphenForMinus.FindAllString(webtest.TextOf(page.Document), 3); len(wrong) > 0 {
			t.Errorf("%s has a hyphen for a minus: %q", address, wrong)
		}
	}
	if pages < 12*len(r.heads) {
		t.Errorf("only %d pages of %d dockets were read", pages, len(r.heads))
	}
}

// demoOwner is a browser in which the demo's owner is signed in.
func demoOwner(t *testing.T, s *store.Store, uploads *files.Folder) *webtest.Client {
	t.Helper()
	site := webtest.SiteOver(t, s, uploads, testNow)
	owner, err := s.CredentialsOf(t.Context(), people[0].member.Email)
	if err != nil {
		t.Fatal(err)
	}
	return site.As(owner.Member)
}

// checkDocuments changes every setting and finds every document of the demo the same to the byte.
func checkDocuments(t *testing.T, s *store.Store, uploads *files.Folder, r record) {
	site := webtest.SiteOver(t, s, uploads, testNow)
	owner, err := s.CredentialsOf(t.Context(), people[0].member.Email)
	if err != nil {
		t.Fatal(err)
	}
	site.Owner = owner.Member
	// One of those that went through the same has the papers of all.
	var numbers []docket.Number
	known := map[string]bool{}
	for _, h := range r.heads {
		went := map[docket.Kind]bool{}
		for _, e := range r.entries[h.Docket.ID] {
			went[e.Kind] = true
		}
		key := fmt.Sprint(slices.Sorted(maps.Keys(went)), h.Customer.Tongue, h.Docket.Stage)
		if !known[key] {
			numbers = append(numbers, h.Docket.Number)
		}
		known[key] = true
	}
	t.Logf("%d of %d dockets", len(numbers), len(r.heads))
	before := site.Documents(numbers...)
	if len(before) < 8*len(numbers) { // ticket, label, estimate, invoice or bulletin of most, each as page and PDF
		t.Errorf("only %d documents of %d dockets", len(before), len(numbers))
	}
	site.ChangeEverySetting()
	before.Kept(t, site.Documents(numbers...))
}

func checkStages(t *testing.T, r record) {
	type standing struct {
		stage docket.Stage
		gone  bool
	}
	count := map[standing]int{}
	overdue, out := 0, 0
	today := time.Date(2026, 11, 23, 0, 0, 0, 0, time.UTC)
	for _, h := range r.heads {
		count[standing{h.Docket.Stage, h.Docket.Closed()}]++
		if h.Docket.Overdue(today) {
			overdue++
		}
		if h.Docket.Place.Kind == docket.PlaceSentOut {
			out++
		}
	}
	for _, stage := range docket.Stages() {
		if n := count[standing{stage, stage == docket.StageHandedOver}]; n < 2 && stage != docket.StageWithdrawn || n < 1 {
			t.Errorf("%d dockets at %s", n, stage)
		}
	}
	if count[standing{docket.StageDeclined, true}] < 2 || count[standing{docket.StageWithdrawn, true}] < 1 {
		t.Errorf("too few went back unrepaired: %v", count)
	}
	if overdue < 3 || out < 1 {
		t.Errorf("%d overdue, %d sent out", overdue, out)
	}
	if n := len(r.heads); n < 30 || n > 75 {
		t.Errorf("%d dockets", n)
	}
}

func checkJournals(t *testing.T, s *store.Store, r record) {
	if c := storetest.Whole(t, s); c.Dockets != int64(len(r.heads)) {
		t.Errorf("%d dockets checked, want %d", c.Dockets, len(r.heads))
	}
	for i, h := range r.heads {
		if want := (docket.Number{Year: h.Docket.ReceivedOn.Year(), Seq: h.Docket.Number.Seq}); h.Docket.Number != want {
			t.Errorf("docket %s was received on %s", h.Docket.Number, h.Docket.ReceivedOn)
		}
		if i > 0 && h.Docket.ReceivedAt.Before(r.heads[i-1].Docket.ReceivedAt) {
			t.Errorf("docket %s came in before the one ahead of it", h.Docket.Number)
		}
		var before time.Time
		for _, e := range r.entries[h.Docket.ID] {
			if e.At.Before(before) {
				t.Errorf("docket %s: entry %d goes back in time", h.Docket.Number, e.Seq)
			}
			if !e.At.Before(testNow) {
				t.Errorf("docket %s: entry %d lies in the future: %s", h.Docket.Number, e.Seq, e.At)
			}
			before = e.At
		}
	}
}

// mayWrite is what each kind of entry asks of its author; kinds that follow from others are left out.
var mayWrite = map[docket.Kind]staff.Permission{
	docket.Received: staff.TakeIn, docket.ConditionNoted: staff.TakeIn, docket.PhotoAdded: staff.AddPhotos,
	docket.PlaceChanged: staff.MoveWatch,
	docket.FindingAdded: staff.Diagnose, docket.FindingRemoved: staff.Diagnose, docket.HazardAcknowledged: staff.Diagnose,
	docket.EstimateDrafted: staff.PriceEstimate, docket.EstimateWasSent: staff.SendEstimate,
	docket.EstimateAccepted: staff.RecordApproval,
	docket.EstimateRefused:  staff.RecordApproval, docket.PartNeeded: staff.NeedParts,
	docket.PartOrdered: staff.OrderParts,
	docket.PartArrived: staff.OrderParts, docket.PartFitted: staff.NeedParts, docket.ServiceStepDone: staff.DoService,
	docket.FinalTested:  staff.DoFinalTest,
	docket.OwnerAllowed: staff.Override, docket.Charged: staff.Override, docket.Paid: staff.TakePayment,
	docket.HandedOver: staff.HandOver,
	docket.HandedBack: staff.HandOver, docket.CardIssued: staff.IssueCard, docket.CardReissued: staff.IssueCard,
	docket.CardVoided: staff.VoidCard, docket.DepositInvoiced: staff.IssueInvoices, docket.CreditIssued: staff.CreditInvoices, docket.Refunded: staff.TakePayment,
}

func checkAuthors(t *testing.T, r record) {
	roles := map[string]staff.Role{}
	for _, p := range people {
		roles[p.member.Name] = p.member.Role
	}
	for _, h := range r.heads {
		for _, e := range r.entries[h.Docket.ID] {
			asked, known := mayWrite[e.Kind]
			if !known || e.By.Kind == docket.ByCustomer && (e.Kind == docket.EstimateAccepted ||
				e.Kind == docket.EstimateRefused) {
				continue
			}
			if !staff.Can(roles[e.By.Name], asked) {
				t.Errorf("docket %s, entry %d: %s may not %s", h.Docket.Number, e.Seq, e.By, asked.Words())
			}
		}
	}
}

func checkVariety(t *testing.T, s *store.Store, r record) {
	for what, sql := range map[string]string{
		"an estimate waits with a private link": `SELECT EXISTS (SELECT FROM estimate_revision e JOIN customer_link l USING (docket_id)
			WHERE e.state = 'sent' AND l.ended_at IS NULL AND l.expires_at > $1)`,
		"one was approved by link":        `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM estimate_revision WHERE state = 'approved' AND decided_via = 'private-link')`,
		"one leaves out an optional line": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM estimate_line WHERE optional AND declined)`,
		"one is in its second revision":   `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM estimate_revision WHERE number = 2 AND state = 'sent')`,
		"one lies within its limit": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM docket d JOIN estimate_revision e ON e.docket_id = d.id
			WHERE d.stage = 'estimate' AND e.state = 'draft' AND e.gross_minor <= d.approval_limit_minor)`,
		"parts are outstanding":          `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM part_line WHERE state = 'ordered')`,
		"radium was acknowledged":        `SELECT EXISTS (SELECT FROM hazard WHERE hazard = 'radioactive-lume' AND acknowledged_at < $1)`,
		"radium was not":                 `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM hazard JOIN docket d ON d.id = docket_id WHERE hazard = 'radioactive-lume' AND acknowledged_at IS NULL AND d.open)`,
		"a watch came back":              `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM docket WHERE comeback_of IS NOT NULL AND open)`,
		"comebacks of three causes":      `SELECT $1::timestamptz IS NOT NULL AND count(DISTINCT k.cause) >= 3 FROM comeback k JOIN docket d ON d.id = k.docket_id AND d.comeback_of IS NOT NULL`,
		"a watch came twice besides":     `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM docket a JOIN docket b ON b.watch_id = a.watch_id AND b.id > a.id WHERE b.comeback_of IS NULL)`,
		"the owner let one go":           `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM docket WHERE owner_reason <> '' AND open) AND EXISTS (SELECT FROM docket WHERE owner_reason <> '' AND NOT open)`,
		"a failed test went back":        `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM final_test f JOIN docket d ON d.id = f.docket_id WHERE f.verdict = 'fail' AND d.stage = 'parts')`,
		"a test is under way":            `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM final_test f JOIN docket d ON d.id = f.docket_id WHERE f.verdict = '' AND d.stage = 'final-test')`,
		"runs pass, fail, are undecided": `SELECT $1::timestamptz IS NOT NULL AND (SELECT count(DISTINCT outcome) FROM run WHERE outcome IN ('pass', 'fail', 'undecided')) = 3`,
		"a final run is undecided":       `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM run r JOIN docket d ON d.id = r.docket_id WHERE r.kind = 'final' AND r.outcome = 'undecided' AND d.stage = 'regulation')`,
		"a rate was put right":           `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM journal WHERE kind = 'reading changed')`,
		"a serial may be on the list":    `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM journal j JOIN docket d ON d.id = j.docket_id WHERE j.kind = 'watch list matched' AND d.open)`,
		"every customer brought a watch": `SELECT $1::timestamptz IS NOT NULL AND (SELECT count(*) FROM customer) >= 18 AND NOT EXISTS (SELECT FROM customer c WHERE NOT EXISTS (SELECT FROM docket WHERE customer_id = c.id))`,
		"every calibre came in":          `SELECT $1::timestamptz IS NOT NULL AND (SELECT count(*) FROM calibre) >= 8 AND NOT EXISTS (SELECT FROM calibre k WHERE NOT EXISTS (SELECT FROM watch WHERE calibre_id = k.id))`,
		"a deposit was invoiced and set off": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM invoice i JOIN invoice b ON b.docket_id = i.docket_id AND b.kind = 'invoice'
			WHERE i.kind = 'deposit-invoice' AND b.body->'SetOffs'->0->>'Number' = i.number)`,
		"a credit note was paid back as it came": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM invoice i JOIN payment p ON p.docket_id = i.docket_id AND p.minor = -i.gross_minor
			JOIN payment came ON came.docket_id = i.docket_id AND came.method = p.method AND came.minor > 0 WHERE i.kind = 'credit-note')`,
		"an exempt one says why": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM invoice WHERE body->>'Treatment' = 'exempt' AND body->>'Sentence' <> '' AND tax_minor = 0)`,
		"one is by reverse charge": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM invoice WHERE body->>'Treatment' = 'reverse-charge' AND tax_minor = 0
			AND body->'Seller'->>'TaxNumber' <> '' AND body->'Buyer'->>'TaxNumber' <> '')`,
		"one was paid part cash, part card":       `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM payment a JOIN payment b USING (docket_id, at) WHERE a.method = 'cash' AND b.method = 'card')`,
		"an order went by mail and was confirmed": `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM order_mail m JOIN order_event e USING (order_id) WHERE m.state = 'sent' AND e.kind = 'confirmed')`,
		"an order is under way by mail":           `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM order_mail m WHERE m.state = 'queued')`,
		"a wrong part came":                       `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM order_event WHERE kind = 'came-wrong')`,
		"a part is on back order":                 `SELECT $1::timestamptz IS NOT NULL AND EXISTS (SELECT FROM order_event e JOIN order_line_now n ON n.line_id = e.line_id WHERE e.kind = 'back-ordered' AND n.to_come > 0)`,
		"four watches are looked out for":         `SELECT $1::timestamptz IS NOT NULL AND (SELECT count(*) FROM watch_list WHERE removed_at IS NULL) = 4`,
	} {
		var so bool
		if err := s.Pool().QueryRow(t.Context(), sql, testNow).Scan(&so); err != nil || !so {
			t.Errorf("not so: %s (%v)", what, err)
		}
	}
	var customersKnown int
	if err := s.Pool().QueryRow(t.Context(), `SELECT count(*) FROM customer`).Scan(&customersKnown); err != nil ||
		customersKnown != len(customers) {
		t.Errorf("%d customers kept (%v) of %d written down", customersKnown, err, len(customers))
	}
	seen := map[string]bool{}
	for _, h := range r.heads {
		seen[h.Watch.Serial+h.Watch.Model] = true
	}
	if len(seen) != len(watches) {
		t.Errorf("%d watches came in of %d written down", len(seen), len(watches))
	}
}

func checkCards(t *testing.T, s *store.Store, r record) {
	today := time.Date(2026, 11, 23, 0, 0, 0, 0, time.UTC)
	count := map[warranty.Standing]int{}
	for _, h := range r.heads {
		sheet, err := s.CardSheet(t.Context(), h.Docket.Number)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range sheet.Cards {
			card, err := c.Card()
			if err != nil {
				t.Errorf("docket %s: %v", h.Docket.Number, err)
				continue
			}
			count[warranty.StandingOf(card, c.Fate, today)]++
			if c.Live() && len(card.Final.Rates) != 6 {
				t.Errorf("docket %s: the card states %d final rates", h.Docket.Number, len(card.Final.Rates))
			}
		}
	}
	for _, standing := range []warranty.Standing{warranty.Genuine, warranty.Expired, warranty.Superseded, warranty.Void} {
		if count[standing] == 0 {
			t.Errorf("no card is %s", standing)
		}
	}
}

func checkPhotos(t *testing.T, s *store.Store, uploads *files.Folder) {
	rows, _ := s.Pool().Query(t.Context(), `SELECT DISTINCT sha256 FROM photo`)
	sums, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err != nil || len(sums) != len(drawings) {
		t.Errorf("%d pictures kept (%v) of %d drawn", len(sums), err, len(drawings))
	}
	for _, sum := range sums {
		for _, size := range []files.Size{files.Full, files.Thumb} {
			f, err := uploads.Open([32]byte(sum), size)
			if err != nil {
				t.Error(err)
				continue
			}
			f.Close()
		}
	}
}

func checkSheets(t *testing.T, s *store.Store, r record) {
	ctx := t.Context()
	for _, h := range r.heads {
		n := h.Docket.Number
		_, intake := s.IntakeSheet(ctx, n)
		_, diagnosis := s.DiagnosisSheet(ctx, n)
		_, estimate := s.EstimateSheet(ctx, n)
		_, parts := s.PartsSheet(ctx, n)
		_, service := s.ServiceSheet(ctx, n)
		_, regulation := s.RegulationSheet(ctx, n)
		_, final := s.FinalTestSheet(ctx, n)
		_, handover := s.HandOverSheet(ctx, n)
		if err := errors.Join(intake, diagnosis, estimate, parts, service, regulation, final, handover); err != nil {
			t.Errorf("docket %s: %v", n, err)
		}
	}
}

// cutOff ends a context at its nth round trip.
type cutOff struct {
	storetest.RoundTrips
	left   int
	cancel context.CancelFunc
}

func (c *cutOff) count() {
	if c.left--; c.left == 0 {
		c.cancel()
	}
}

func (c *cutOff) TraceQueryStart(ctx context.Context, conn *pgx.Conn, d pgx.TraceQueryStartData) context.Context {
	c.count()
	return c.RoundTrips.TraceQueryStart(ctx, conn, d)
}

func (c *cutOff) TraceBatchStart(ctx context.Context, conn *pgx.Conn, d pgx.TraceBatchStartData) context.Context {
	c.count()
	return c.RoundTrips.TraceBatchStart(ctx, conn, d)
}

// checkGoesOn interrupts a filling again and again, at any point of a transaction and days apart, and finds the same
// shop in the end.
func checkGoesOn(t *testing.T, whole record) {
	cut := &cutOff{}
	s, uploads := storetest.New(t, store.WithTracer(cut)), openUploads(t)
	interrupted := 0
	for day := 0; ; day++ {
		ctx, cancel := context.WithCancel(t.Context())
		// From a step of making the people, through odd and even numbers, to many hundreds.
		cut.left, cut.cancel = 8+day*457, cancel
		now := testNow
		if interrupted > 0 && day > 3 { // by then there is a first docket that says when it was begun
			now = now.AddDate(0, 0, day)
		}
		err := Fill(ctx, s, uploads, now)
		cancel()
		if err == nil {
			break
		}
		if !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
		interrupted++
	}
	if interrupted < 3 {
		t.Fatalf("interrupted %d times only", interrupted)
	}
	want, got := whole.lines(), read(t, s).lines()
	if !slices.Equal(got, want) {
		t.Errorf("after %d interruptions:\n%v\nwant\n%v", interrupted, got, want)
	}
	if c := storetest.Whole(t, s); c.Dockets != int64(len(want)) {
		t.Errorf("%d dockets hold", c.Dockets)
	}
}

// TestOtherShopIsLeftAlone: a shop that somebody founded gets no people with known passwords.
func TestOtherShopIsLeftAlone(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	other := shop.Defaults()
	other.Name, other.LinkSecret = "Lobscouse & Daughter", make([]byte, 32)
	if _, err := s.Found(t.Context(), other, staff.Member{Name: "Owner", Email: "owner@lobscouse.example",
		Role: staff.Owner}, "", testNow); err != nil {
		t.Fatal(err)
	}
	if err := Fill(t.Context(), s, openUploads(t), testNow); err != nil {
		t.Fatal(err)
	}
	if _, err := s.CredentialsOf(t.Context(), people[1].member.Email); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("somebody of Tern Quay works there now (%v)", err)
	}
}

// TestOtherReleaseIsLeftAlone: dockets that came in at other times than this release tells are not gone on with.
func TestOtherReleaseIsLeftAlone(t *testing.T) {
	t.Parallel()
	s, uploads := storetest.New(t), openUploads(t)
	f := &filler{store: s, darkroom: &darkroom{uploads: uploads}, shop: ternQuay(), staff: map[staff.Role]store.Actor{}}
	f.calendar = calendarBefore(testNow, f.shop.Location())
	b := &book{calendar: f.calendar}
	b.regulatedOnly()
	if err := f.hurry(t.Context(), b.inOrder()); err != nil {
		t.Fatal(err)
	}
	want := read(t, s).lines()
	if err := Fill(t.Context(), s, uploads, testNow); err != nil {
		t.Fatal(err)
	}
	if got := read(t, s).lines(); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func BenchmarkFill(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		s, uploads := storetest.New(b), openUploads(b)
		b.StartTimer()
		if err := Fill(b.Context(), s, uploads, testNow); err != nil {
			b.Fatal(err)
		}
	}
}
