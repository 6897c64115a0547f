package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
)

const customerFields = `c.id, c.name, c.phone, c.phone_e164, c.phone_region,
	c.phone <> '' AND c.phone_e164 = '', c.email, c.address, c.notes, c.preferred_contact, coalesce(c.tongue, ''),
	coalesce(c.no_mail_at, '0001-01-01 00:00Z'), coalesce(CASE WHEN c.mail_back_to = c.email_key THEN c.mail_back_at END, '0001-01-01 00:00Z'),
	coalesce(CASE WHEN c.mail_back_to = c.email_key THEN c.mail_back_why END, ''), coalesce(c.firm, false), coalesce(c.tax_number, '')`

func customerTargets(c *customer.Customer) []any {
	return []any{&c.ID, &c.Name, &c.Phone, &c.PhoneE164, &c.PhoneRegion, &c.PhoneUnread, &c.Email, &c.Address, &c.Notes,
		&c.PreferredContact, &c.Tongue, &c.Mail.StoppedAt, &c.Mail.BackAt, &c.Mail.BackWhy, &c.Firm, &c.TaxNumber}
}

// CustomerRow is a customer in a list.
type CustomerRow struct {
	Customer    customer.Customer
	OpenDockets int
}

// CustomerSheet is everything a customer's page shows.
type CustomerSheet struct {
	Customer customer.Customer
	Version  int64
	Watches  []WatchRow // newest first, at most watchesShown
	Dockets  []PastDocket
	// OlderDockets says that there are dockets older than those in Dockets.
	OlderDockets bool
	Merges       []PastMerge // newest first, at most mergesShown
	Erasure      *Erasure    // nil where nobody asked for it
	MergedInto   int64       // the record that it was merged into; 0 for none
}

// CustomerPage is how many customers a page of the list shows, and the most that a search answers with.
const CustomerPage = 50

// CustomerMark is where a page of the customer list begins: after the customer with this folded name and id.
type CustomerMark struct {
	NameKey string
	ID      int64
}

const customerRowSQL = `SELECT ` + customerFields + `,
	(SELECT count(*) FROM docket d WHERE d.customer_id = c.id AND d.open) FROM customer c `

func scanCustomerRow(row pgx.CollectableRow) (CustomerRow, error) {
	var r CustomerRow
	err := row.Scan(append(customerTargets(&r.Customer), &r.OpenDockets)...)
	return r, err
}

// Customers lists customers by name, from after the mark. more says that the list goes on.
func (s *Store) Customers(ctx context.Context, after CustomerMark) (list []CustomerRow, more bool, err error) {
	rows, _ := s.db.Query(ctx, customerRowSQL+`WHERE (c.name_key COLLATE "C", c.id) > ($1, $2) AND c.merged_into IS NULL
		ORDER BY c.name_key COLLATE "C", c.id LIMIT $3`, after.NameKey, after.ID, CustomerPage+1)
	list, err = pgx.CollectRows(rows, scanCustomerRow)
	if err != nil {
		return nil, false, fmt.Errorf("customers: %w", Translate(err))
	}
	if len(list) > CustomerPage {
		return list[:CustomerPage], true, nil
	}
	return list, false, nil
}

// FindCustomers looks for what was typed among names, telephone numbers (whole, or their last four digits or
// more) and the beginnings of e-mail addresses. region is that of a number without country code. At most limit
// are returned, by name; more says that there were others.
func (s *Store) FindCustomers(ctx context.Context, typed, region string, limit int) (list []CustomerRow, more bool,
	err error) {
	var batch pgx.Batch
	queueFoundCustomers(&batch, typed, region, limit+1, &list)
	if batch.Len() == 0 {
		return nil, false, nil
	}
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, false, fmt.Errorf("find customers: %w", Translate(err))
	}
	list, more = firstCustomers(list, limit)
	return list, more, nil
}

// foundCustomersSQL gives the customers whom the table h of hits names.
func foundCustomersSQL(hits string) string {
	return hits + ` SELECT ` + customerFields + `, (SELECT count(*) FROM docket d WHERE d.customer_id = c.id AND d.open)
		FROM h ` + hitCustomer
}

// hitCustomer looks up the customers of the hits one by one. OFFSET 0 keeps the planner from reading the whole table
// instead, which is quicker only while the shop is young.
// A record that was merged into another leads to that.
const hitCustomer = `CROSS JOIN LATERAL (SELECT * FROM customer x
	WHERE x.id = (SELECT coalesce(y.merged_into, y.id) FROM customer y WHERE y.id = h.id) OFFSET 0) c`

var (
	foundByPhoneSQL = foundCustomersSQL(hitsOf(phonesHits))
	foundByEmailSQL = foundCustomersSQL(hitsOf(emailsHits))
	foundByNameSQL  = foundCustomersSQL(wordHits("customer_word", "customer_id"))
)

// queueFoundCustomers asks, by every column that what was typed may stand in, for at most limit customers each. When
// the batch is done, firstCustomers puts them in order.
func queueFoundCustomers(batch *pgx.Batch, typed, region string, limit int, found *[]CustomerRow) {
	ask := func(sql string, args ...any) {
		batch.Queue(sql, args...).Query(func(rows pgx.Rows) error {
			list, err := pgx.CollectRows(rows, scanCustomerRow)
			*found = append(*found, list...)
			return err
		})
	}
	typed = strings.TrimSpace(typed)
	for _, tail := range phoneTails(typed, region) {
		ask(foundByPhoneSQL, tail.from, 0, limit, tail.to)
	}
	if email := customer.FoldEmail(typed); len(email) >= leastLetters && !strings.ContainsFunc(email, unicode.IsSpace) {
		ask(foundByEmailSQL, email, 0, limit, beginningWith(email).to)
	}
	if words := findWords(typed); len([]rune(customer.FoldName(typed))) >= leastLetters {
		from, to := bounds(words)
		ask(foundByNameSQL, "", 0, limit, from, to)
	}
}

// bounds parts ranges into where they begin and where they end, as queries take them.
func bounds(words []textRange) (from, to []string) {
	for _, w := range words {
		from, to = append(from, w.from), append(to, w.to)
	}
	return from, to
}

// firstCustomers keeps the first of what several questions found, each once, by name.
func firstCustomers(found []CustomerRow, limit int) (list []CustomerRow, more bool) {
	slices.SortFunc(found, func(a, b CustomerRow) int {
		return cmp.Or(cmp.Compare(customer.FoldName(a.Customer.Name), customer.FoldName(b.Customer.Name)),
			cmp.Compare(a.Customer.ID, b.Customer.ID))
	})
	found = slices.CompactFunc(found, func(a, b CustomerRow) bool { return a.Customer.ID == b.Customer.ID })
	if len(found) > limit {
		return found[:limit], true
	}
	return found, false
}

// textRange holds, in byte order, the texts from from up to but without to. Unlike LIKE it rides on an index
// whatever is asked. The zero value holds none.
type textRange struct{ from, to string }

// beginningWith is the range of the texts that begin with s.
func beginningWith(s string) textRange { return textRange{s, s + string(unicode.MaxRune)} }

// exactly is the range that holds s alone, as no word holds a control character.
func exactly(s string) textRange { return textRange{s, s + "\x01"} }

// leastDigits of a telephone number, and leastLetters of a name or address, are needed to find anything: fewer
// match half the shop. With trunkDigits or more, a nought in front is the trunk prefix.
const (
	leastDigits  = 4
	trunkDigits  = 7
	leastLetters = 2
)

// phoneTails are the numbers, read backwards, that end in what was typed, and the whole one that it may be.
func phoneTails(typed, region string) []textRange {
	var tails []textRange
	if e164, ok := customer.NormalisePhone(typed, region); ok {
		tails = append(tails, beginningWith(reversed(text.Digits(e164))))
	}
	digits := text.Digits(typed)
	if len(digits) >= trunkDigits { // a whole number, of which E.164 leaves out the nought in front
		digits = strings.TrimLeft(digits, "0")
	}
	if len(digits) >= leastDigits {
		tails = append(tails, beginningWith(reversed(digits)))
	}
	return tails
}

func reversed(digits string) string {
	var b strings.Builder
	for i := len(digits) - 1; i >= 0; i-- {
		b.WriteByte(digits[i])
	}
	return b.String()
}

// CustomerMatch is a customer in the record who may be the one just typed.
type CustomerMatch struct {
	Customer customer.Customer
	Reasons  customer.Reasons
}

// matchesShown bounds how many look-alikes are offered, lookLimit how many candidates are compared for them, and
// nearLooked how many customers with one word of a name are looked at for the others.
const (
	matchesShown = 8
	lookLimit    = 60
	nearLooked   = 200
)

const alikeCustomersSQL = `WITH h AS MATERIALIZED (
		(SELECT id FROM customer WHERE phone_e164 <> '' AND phone_e164 = $1 ORDER BY id DESC LIMIT $4)
		UNION (SELECT id FROM customer WHERE email_key <> '' AND email_key = $2 LIMIT $4)
		UNION (SELECT id FROM customer WHERE name_key <> '' AND name_key = $3 LIMIT $4))
	SELECT ` + customerFields + ` FROM h ` + hitCustomer + ` ORDER BY c.id DESC`

// nearCustomersSQL looks at up to $3 customers with the rarest of the words from $1 to $2, and gives up to $4 of those
// that have one in each of the ranges.
const nearCustomersSQL = `WITH rarest AS MATERIALIZED (
		SELECT lo, hi FROM unnest($1::text[] COLLATE "C", $2::text[] COLLATE "C") AS q (lo, hi)
		ORDER BY (SELECT count(*) FROM (SELECT FROM customer_word WHERE word >= lo AND word < hi LIMIT $3) n), lo LIMIT 1),
	h AS MATERIALIZED (SELECT DISTINCT x.id FROM rarest r, LATERAL (
		SELECT customer_id AS id FROM customer_word WHERE word >= r.lo AND word < r.hi ORDER BY word, customer_id LIMIT $3) x
		WHERE NOT EXISTS (SELECT FROM unnest($1, $2) AS q (lo, hi)
			WHERE NOT EXISTS (SELECT FROM customer_word y WHERE y.customer_id = x.id AND y.word >= q.lo AND y.word < q.hi)) LIMIT $4)
	SELECT ` + customerFields + ` FROM h ` + hitCustomer

// queueAlikeCustomers adds to a batch the search for customers like c, which must be Tidied. The database narrows the
// shop down by index; the domain decides.
func queueAlikeCustomers(batch *pgx.Batch, c customer.Customer, found *[]CustomerMatch) {
	keys := c.MatchKeys()
	if keys == (customer.MatchKeys{}) {
		return
	}
	known := map[int64]bool{}
	keep := func(rows pgx.Rows) error {
		candidates, err := pgx.CollectRows(rows, scanCustomer)
		for _, other := range candidates {
			reasons := customer.Likeness(c, other)
			if len(reasons) > 0 && !known[other.ID] && len(*found) < matchesShown {
				known[other.ID] = true
				*found = append(*found, CustomerMatch{other, reasons})
			}
		}
		return err
	}
	batch.Queue(alikeCustomersSQL, keys.PhoneE164, keys.Email, keys.Name, lookLimit).Query(keep)
	for _, way := range nearNames(keys.Name) {
		from, to := bounds(way)
		batch.Queue(nearCustomersSQL, from, to, nearLooked, lookLimit).Query(keep)
	}
}

// nearNames are the ways in which a name may be the one given but for a slip of the pen or the order of its words: all
// its words, or all but one of which only the beginning agrees. A slip in the first two letters of a word is found
// by telephone or e-mail only.
func nearNames(nameKey string) [][]textRange {
	words := strings.Fields(nameKey)
	if len(words) > maxWords {
		words = words[:maxWords]
	}
	var ways [][]textRange
	for i := range words {
		way := make([]textRange, len(words))
		for j, w := range words {
			way[j] = exactly(w)
			if i == j {
				way[j] = beginningWith(beginning(w, len(words)))
			}
		}
		ways = append(ways, way)
	}
	return ways
}

// beginning is what must agree of a word of which the last letters may differ; of a lone word more, as it says less.
func beginning(w string, of int) string {
	keep := 2
	if of == 1 {
		keep = 4
	}
	runes := []rune(w)
	return string(runes[:min(keep, len(runes))])
}

func scanCustomer(row pgx.CollectableRow) (customer.Customer, error) {
	var c customer.Customer
	err := row.Scan(customerTargets(&c)...)
	return c, err
}

func queueCustomer(batch *pgx.Batch, id int64, c *customer.Customer, version *int64, found *bool) {
	batch.Queue(`SELECT `+customerFields+`, c.version FROM customer c WHERE c.id = $1`,
		id).QueryRow(func(row pgx.Row) error {
		err := row.Scan(append(customerTargets(c), version)...)
		if err == nil {
			*found = true
		}
		return ignoreNone(err)
	})
}

// CustomerSheet reads a customer's page: particulars, watches, and dockets with an id below before (0 starts at
// the newest). The error wraps domain.ErrNotFound.
func (s *Store) CustomerSheet(ctx context.Context, id, before int64) (CustomerSheet, error) {
	var sheet CustomerSheet
	var found bool
	var batch pgx.Batch
	queueCustomer(&batch, id, &sheet.Customer, &sheet.Version, &found)
	batch.Queue(watchRowSQL+`WHERE w.customer_id = $1 ORDER BY w.id DESC LIMIT $2`, id,
		watchesShown).Query(func(rows pgx.Rows) (err error) {
		sheet.Watches, err = pgx.CollectRows(rows, scanWatchRow)
		return err
	})
	queuePastDockets(&batch, "d.customer_id", id, before, &sheet.Dockets, &sheet.OlderDockets)
	batch.Queue(`SELECT coalesce(merged_into, 0) FROM customer WHERE id = $1`, id).QueryRow(func(row pgx.Row) error {
		return ignoreNone(row.Scan(&sheet.MergedInto))
	})
	queuePastMerges(&batch, id, &sheet.Merges)
	queueErasure(&batch, id, &sheet.Erasure)
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && !found {
		err = domain.ErrNotFound
	}
	if err != nil {
		return CustomerSheet{}, fmt.Errorf("customer %d: %w", id, Translate(err))
	}
	return sheet, nil
}

// Customer reads one customer and the version to change it by; the error wraps domain.ErrNotFound.
func (s *Store) Customer(ctx context.Context, id int64) (c customer.Customer, version int64, err error) {
	err = s.db.QueryRow(ctx, `SELECT `+customerFields+`, c.version FROM customer c WHERE c.id = $1`, id).
		Scan(append(customerTargets(&c), &version)...)
	if err != nil {
		return c, 0, fmt.Errorf("customer %d: %w", id, Translate(err))
	}
	return c, version, nil
}

// AddCustomer keeps a new customer, who must be Tidied, and returns the id. The error is a *domain.InvalidError
// when a rule is broken.
func (s *Store) AddCustomer(ctx context.Context, c customer.Customer, at time.Time) (int64, error) {
	var id int64
	added := note{kind: docket.CustomerKept, at: at, summary: docket.CustomerAddedSummary}
	err := s.changeShop(ctx, &added, func(tx pgx.Tx) (err error) {
		id, err = insertCustomer(ctx, tx, c.Named(), at)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("add customer: %w", Translate(err))
	}
	return id, nil
}

func insertCustomer(ctx context.Context, tx pgx.Tx, c customer.Customer, at time.Time) (int64, error) {
	if err := domain.Invalid(c.Problems()); err != nil {
		return 0, err
	}
	keys := c.MatchKeys()
	var id int64
	err := tx.QueryRow(ctx, `INSERT INTO customer (name, name_key, phone, phone_e164, email, email_key, address,
		preferred_contact, notes, created_at, phone_region, tongue, firm, tax_number) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, nullif($12, ''), nullif($13, false), nullif($14, ''))
		RETURNING id`, c.Name, keys.Name, c.Phone, c.PhoneE164, c.Email, keys.Email, c.Address, string(c.PreferredContact),
		c.Notes, at, c.PhoneRegion, string(c.Tongue), c.Firm, c.TaxNumber).Scan(&id)
	return id, err
}

// SaveCustomer replaces the particulars of c.ID, who must be Tidied or made by customer.Over, if they still have the given version. The
// error is a *domain.InvalidError, or wraps domain.ErrChanged or domain.ErrNotFound.
func (s *Store) SaveCustomer(ctx context.Context, by Actor, at time.Time, c customer.Customer, version int64) error {
	if err := domain.Invalid(c.Problems()); err != nil {
		return err
	}
	c = c.Named()
	keys := c.MatchKeys()
	var now int64
	saved := note{kind: docket.CustomerKept, by: by, at: at, summary: docket.CustomerCorrectedSummary}
	err := s.changeShop(ctx, &saved, func(tx pgx.Tx) error {
		return tx.QueryRow(ctx, `WITH saved AS (
			UPDATE customer SET name = $3, name_key = $4, phone = $5, phone_e164 = $6, email = $7, email_key = $8,
				address = $9, preferred_contact = $10, notes = $11, phone_region = $12, tongue = nullif($13, ''), firm = nullif($14, false), tax_number = nullif($15, ''),
				version = version + 1
			WHERE id = $1 AND version = $2 AND merged_into IS NULL AND erased_at IS NULL RETURNING version)
		SELECT coalesce((SELECT version FROM saved), 0) FROM customer WHERE id = $1`,
			c.ID, version, c.Name, keys.Name, c.Phone, c.PhoneE164, c.Email, keys.Email, c.Address,
			string(c.PreferredContact), c.Notes, c.PhoneRegion, string(c.Tongue), c.Firm, c.TaxNumber).Scan(&now)
	})
	if err == nil && now == 0 {
		err = domain.ErrChanged
	}
	if err != nil {
		return fmt.Errorf("save customer %d: %w", c.ID, Translate(err))
	}
	return nil
}
