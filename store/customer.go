package store

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode"

	"github.com/jackc/pgx/v5"
	"golang.org/x/text/unicode/norm"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
)

const customerFields = `c.id, c.name, c.phone, c.phone_e164, c.email, c.address, c.notes, c.preferred_contact`

func customerTargets(c *customer.Customer) []any {
	return []any{&c.ID, &c.Name, &c.Phone, &c.PhoneE164, &c.Email, &c.Address, &c.Notes, &c.PreferredContact}
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
	Watches  []WatchRow // newest first, at most WatchesShown
	Dockets  []PastDocket
	// OlderDockets says that there are dockets older than those in Dockets.
	OlderDockets bool
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
	rows, _ := s.db.Query(ctx, customerRowSQL+`WHERE (c.name_key COLLATE "C", c.id) > ($1, $2)
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
func (s *Store) FindCustomers(ctx context.Context, typed, region string, limit int) (list []CustomerRow, more bool, err error) {
	q := customerQueryOf(typed, region)
	if q == (customerQuery{}) {
		return nil, false, nil
	}
	var batch pgx.Batch
	queueFoundCustomers(&batch, q, limit+1, &list)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, false, fmt.Errorf("find customers: %w", Translate(err))
	}
	if len(list) > limit {
		return list[:limit], true, nil
	}
	return list, false, nil
}

const foundCustomersSQL = customerRowSQL + `WHERE c.id IN (
		(SELECT id FROM customer WHERE phone_e164 <> '' AND phone_e164 = $1 LIMIT $9)
		UNION ALL (SELECT id FROM customer WHERE phone_e164 <> '' AND reverse(phone_e164) ~>=~ $2 AND reverse(phone_e164) ~<~ $3 LIMIT $9)
		UNION ALL (SELECT id FROM customer WHERE email_key <> '' AND email_key ~>=~ $4 AND email_key ~<~ $5 LIMIT $9)
		UNION ALL (SELECT id FROM customer WHERE name_key ~>=~ $6 AND name_key ~<~ $7 LIMIT $9)
		UNION ALL (SELECT id FROM customer WHERE $8 <> '' AND to_tsvector('simple', name_key) @@ to_tsquery('simple', $8) LIMIT $9))
	ORDER BY c.name_key COLLATE "C", c.id LIMIT $9`

func queueFoundCustomers(batch *pgx.Batch, q customerQuery, limit int, found *[]CustomerRow) {
	if q == (customerQuery{}) {
		return
	}
	batch.Queue(foundCustomersSQL, q.e164, q.phoneTail.from, q.phoneTail.to, q.email.from, q.email.to, q.name.from, q.name.to,
		q.words, limit).Query(func(rows pgx.Rows) (err error) {
		*found, err = pgx.CollectRows(rows, scanCustomerRow)
		return err
	})
}

// customerQuery is what was typed, as each column can be asked for it; "" does not ask.
type customerQuery struct {
	e164      string    // the whole number
	phoneTail textRange // of the number read backwards
	email     textRange
	name      textRange
	words     string // every word, or its beginning, in any order
}

// textRange holds, in byte order, the texts from from up to but without to. Unlike LIKE it rides on an index
// whatever is asked. The zero value holds none.
type textRange struct{ from, to string }

// beginningWith is the range of the texts that begin with s.
func beginningWith(s string) textRange { return textRange{s, s + string(unicode.MaxRune)} }

// leastDigits of a telephone number, and leastLetters of a name or address, are needed to find anything: fewer
// match half the shop. With trunkDigits or more, a nought in front is the trunk prefix.
const (
	leastDigits  = 4
	trunkDigits  = 7
	leastLetters = 2
)

func customerQueryOf(typed, region string) customerQuery {
	var q customerQuery
	typed = strings.TrimSpace(typed)
	q.e164, _ = customer.NormalisePhone(typed, region)
	digits := digitsOf(typed)
	if len(digits) >= trunkDigits { // a whole number, of which E.164 leaves out the nought in front
		digits = strings.TrimLeft(digits, "0")
	}
	if len(digits) >= leastDigits {
		q.phoneTail = beginningWith(reversed(digits))
	}
	if email := customer.FoldEmail(typed); len(email) >= leastLetters && !strings.ContainsAny(email, " \t") {
		q.email = beginningWith(email)
	}
	if name := customer.FoldName(typed); len([]rune(name)) >= leastLetters {
		q.name = beginningWith(name)
		q.words = prefixWords(strings.Fields(name))
	}
	return q
}

// digitsOf returns the ASCII digits of s; other marks and letters are dropped.
func digitsOf(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, norm.NFKC.String(s))
}

func reversed(digits string) string {
	var b strings.Builder
	for i := len(digits) - 1; i >= 0; i-- {
		b.WriteByte(digits[i])
	}
	return b.String()
}

// prefixWords is a text query for all the words, each of which may go on.
func prefixWords(words []string) string {
	var terms []string
	for _, w := range words {
		if strings.ContainsFunc(w, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) {
			terms = append(terms, lexeme(w)+":*")
		}
	}
	return strings.Join(terms, " & ")
}

// lexeme quotes a word for to_tsquery.
func lexeme(w string) string {
	return "'" + strings.NewReplacer("'", "''", `\`, `\\`).Replace(w) + "'"
}

// CustomerMatch is a customer in the record who may be the one just typed.
type CustomerMatch struct {
	Customer customer.Customer
	Reasons  customer.Reasons
}

// matchesShown bounds how many look-alikes are offered, and lookLimit how many candidates are compared for them.
const (
	matchesShown = 8
	lookLimit    = 60
)

const alikeCustomersSQL = `SELECT ` + customerFields + ` FROM customer c WHERE c.id IN (
		(SELECT id FROM customer WHERE phone_e164 <> '' AND phone_e164 = $1 LIMIT $5)
		UNION ALL (SELECT id FROM customer WHERE email_key <> '' AND email_key = $2 LIMIT $5)
		UNION ALL (SELECT id FROM customer WHERE name_key <> '' AND name_key = $3 LIMIT $5)
		UNION ALL (SELECT id FROM customer WHERE $4 <> '' AND to_tsvector('simple', name_key) @@ to_tsquery('simple', $4) LIMIT $5))
	ORDER BY c.id DESC`

// queueAlikeCustomers adds to a batch the search for customers like c, which must be Tidied. The database narrows the
// shop down by index; the domain decides.
func queueAlikeCustomers(batch *pgx.Batch, c customer.Customer, found *[]CustomerMatch) {
	keys := c.MatchKeys()
	if keys == (customer.MatchKeys{}) {
		return
	}
	batch.Queue(alikeCustomersSQL, keys.PhoneE164, keys.Email, keys.Name, nearNameQuery(keys.Name), lookLimit).
		Query(func(rows pgx.Rows) error {
			candidates, err := pgx.CollectRows(rows, scanCustomer)
			for _, other := range candidates {
				if reasons := customer.Likeness(c, other); len(reasons) > 0 && len(*found) < matchesShown {
					*found = append(*found, CustomerMatch{other, reasons})
				}
			}
			return err
		})
}

// nearNameQuery finds names that a slip of the pen apart may be the one given: all its words, or all but one of
// which only the beginning agrees. A slip in the first two letters of a word is found by telephone or e-mail only.
func nearNameQuery(nameKey string) string {
	words := strings.Fields(nameKey)
	if len(words) > 6 {
		words = words[:6]
	}
	var ways []string
	for i := range words {
		terms := make([]string, len(words))
		for j, w := range words {
			terms[j] = lexeme(w)
			if i == j {
				terms[j] = beginning(w, len(words))
			}
		}
		ways = append(ways, "("+strings.Join(terms, " & ")+")")
	}
	return strings.Join(ways, " | ")
}

// beginning is a word of which the last letters may differ; a lone word must agree further, as it says less.
func beginning(w string, of int) string {
	keep := 2
	if of == 1 {
		keep = 4
	}
	runes := []rune(w)
	if len(runes) <= keep {
		return lexeme(w) + ":*"
	}
	return lexeme(string(runes[:keep])) + ":*"
}

func scanCustomer(row pgx.CollectableRow) (customer.Customer, error) {
	var c customer.Customer
	err := row.Scan(customerTargets(&c)...)
	return c, err
}

func queueCustomer(batch *pgx.Batch, id int64, c *customer.Customer, version *int64, found *bool) {
	batch.Queue(`SELECT `+customerFields+`, c.version FROM customer c WHERE c.id = $1`, id).QueryRow(func(row pgx.Row) error {
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
	batch.Queue(watchRowSQL+`WHERE w.customer_id = $1 ORDER BY w.id DESC LIMIT $2`, id, WatchesShown).Query(func(rows pgx.Rows) (err error) {
		sheet.Watches, err = pgx.CollectRows(rows, scanWatchRow)
		return err
	})
	queuePastDockets(&batch, "d.customer_id", id, before, &sheet.Dockets, &sheet.OlderDockets)
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
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) (err error) {
		id, err = insertCustomer(ctx, tx, c, at)
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
		preferred_contact, notes, created_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) RETURNING id`,
		c.Name, keys.Name, c.Phone, c.PhoneE164, c.Email, keys.Email, c.Address, string(c.PreferredContact), c.Notes, at).Scan(&id)
	return id, err
}

// SaveCustomer replaces the particulars of c.ID, who must be Tidied, if they still have the given version. The
// error is a *domain.InvalidError, or wraps domain.ErrChanged or domain.ErrNotFound.
func (s *Store) SaveCustomer(ctx context.Context, c customer.Customer, version int64) error {
	if err := domain.Invalid(c.Problems()); err != nil {
		return err
	}
	keys := c.MatchKeys()
	var now int64
	err := s.db.QueryRow(ctx, `WITH saved AS (
			UPDATE customer SET name = $3, name_key = $4, phone = $5, phone_e164 = $6, email = $7, email_key = $8,
				address = $9, preferred_contact = $10, notes = $11, version = version + 1
			WHERE id = $1 AND version = $2 RETURNING version)
		SELECT coalesce((SELECT version FROM saved), 0) FROM customer WHERE id = $1`,
		c.ID, version, c.Name, keys.Name, c.Phone, c.PhoneE164, c.Email, keys.Email, c.Address,
		string(c.PreferredContact), c.Notes).Scan(&now)
	if err == nil && now == 0 {
		err = domain.ErrChanged
	}
	if err != nil {
		return fmt.Errorf("save customer %d: %w", c.ID, Translate(err))
	}
	return nil
}
