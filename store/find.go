package store

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// FindPage is how many rows of one group are shown at a time.
const FindPage = 20

// Found is what the find box found. Of each group there is one page.
type Found struct {
	// Exact is the docket whose whole number was typed or scanned, zero when there is none.
	Exact docket.Number
	// Misread is set when the text has the shape of a docket's number but its check character fails. Those
	// that were probably meant and are there are the first of Dockets, LikelyCount of them.
	Misread     *docket.CheckError
	LikelyCount int

	Dockets               []DocketRow
	Phones, Names, Emails []FoundCustomer
	Serials, Watches      []FoundWatch
	Both                  []FoundWatch // some of the words are the owner's, the others the watch's
	// Instead is the text that was found where the one that was typed finds nothing; "" where it does.
	Instead string

	next                   map[FindGroup]FindCursor
	exactly, beginningWith []DocketRow
	byOrder                []DocketRow // whose firm gave it such a number
	joined                 []*Found    // by names of which two words are one
}

// Next tells where the next page of a group begins; ok is false on its last page.
func (f Found) Next(g FindGroup) (from FindCursor, ok bool) {
	from, ok = f.next[g]
	return from, ok
}

// Empty reports that nothing was found, and that there is nowhere further to look.
func (f Found) Empty() bool {
	return len(f.next)+len(f.Dockets)+len(f.Phones)+len(f.Names)+len(f.Emails)+len(f.Serials)+len(f.Watches)+len(f.Both) == 0
}

// FoundDocket is a docket in the company of its customer or watch.
type FoundDocket struct {
	Number string
	Stage  docket.Stage
	Open   bool
}

// FoundCustomer is a customer with their newest dockets.
type FoundCustomer struct {
	Customer customer.Customer
	Dockets  []FoundDocket
	key      string
	hit      int64 // the record that was found: another than the customer's where it was merged into that
}

// FoundWatch is a watch with its owner and its newest dockets.
type FoundWatch struct {
	Watch   watch.Watch
	OwnerID int64
	Owner   string
	Dockets []FoundDocket
	key     string
}

// Find looks for a text wherever it may stand, in one round trip. Where nothing is found it looks for what may have been
// meant, and says so in Instead.
func (s *Store) Find(ctx context.Context, q FindQuery) (Found, error) {
	found, err := s.find(ctx, q)
	a := readFind(q)
	number := len(a.numbers) > 0 || a.prefix != (textRange{}) || a.tail != (textRange{}) || a.misread != nil
	if err != nil || !found.Empty() || q.Group != "" || len(a.words) == 0 || number {
		return found, err // a number that is not there is not guessed at
	}
	for _, way := range append([][]textRange{a.words}, joined(a.words)...) {
		texts, err := s.insteadOf(ctx, way)
		if err != nil {
			return Found{}, err
		}
		for _, text := range texts {
			instead := q
			instead.Text = text
			if other, err := s.find(ctx, instead); err != nil || !other.Empty() {
				other.Instead = text
				return other, err
			}
		}
	}
	return found, nil
}

// find looks for a text as it is.
func (s *Store) find(ctx context.Context, q FindQuery) (Found, error) {
	a := readFind(q)
	found := Found{Misread: a.misread, next: map[FindGroup]FindCursor{}}
	var batch pgx.Batch
	for _, g := range FindGroups() {
		if q.Group == "" {
			queueFind(&batch, g, a, FindCursor{}, &found)
		} else if q.Group == g {
			queueFind(&batch, g, a, q.From, &found)
		}
	}
	if batch.Len() == 0 {
		return found, nil
	}
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Found{}, fmt.Errorf("find: %w", Translate(err))
	}
	found.gather(a)
	return found, nil
}

// gather puts what was found in two ways into one list.
func (f *Found) gather(a asked) {
	for _, j := range f.joined {
		for _, c := range j.Names {
			if !slices.ContainsFunc(f.Names, func(n FoundCustomer) bool { return n.Customer.ID == c.Customer.ID }) {
				f.Names = append(f.Names, c)
			}
		}
	}
	f.Dockets = f.exactly
	if a.misread != nil {
		f.LikelyCount = len(f.exactly)
	}
	for _, r := range append(f.beginningWith, f.byOrder...) {
		known := false
		for _, e := range f.Dockets {
			known = known || e.Docket.ID == r.Docket.ID
		}
		if !known {
			f.Dockets = append(f.Dockets, r)
		}
	}
	if len(f.exactly) == 1 && f.exactly[0].Docket.Number == a.exact {
		f.Exact = a.exact
	}
}

func queueFind(batch *pgx.Batch, g FindGroup, a asked, from FindCursor, found *Found) {
	switch g {
	case FoundDockets:
		queueNumbers(batch, a, from, found)
		queueOrders(batch, a, from, found)
	case FoundPhones:
		queueCustomers(batch, g, phonesSQL, a.tail.args(from), found, &found.Phones)
	case FoundEmails:
		queueCustomers(batch, g, emailsSQL, a.email.args(from), found, &found.Emails)
	case FoundNames:
		args := wordArgs(a.words, from)
		queueCustomers(batch, g, namesSQL, args, found, &found.Names)
		if from == (FindCursor{}) {
			for _, way := range joined(a.words) {
				queueJoined(batch, way, found)
			}
		}
		queueLastLooked(batch, g, lastNameSQL, args, len(a.words), found)
	case FoundSerials:
		queueWatches(batch, g, serialsSQL, a.serial.args(from), found, &found.Serials)
	case FoundBoth:
		queueWatches(batch, g, bothSQL, bothArgs(a.words), found, &found.Both)
	case FoundWatches:
		args := wordArgs(a.words, from)
		queueWatches(batch, g, watchesSQL, args, found, &found.Watches)
		queueLastLooked(batch, g, lastWatchSQL, args, len(a.words), found)
	}
}

// args are what the queries of hits are asked with: the row after which the page begins, how many rows are wanted,
// and where the range ends. An empty range is not asked for.
func (r textRange) args(from FindCursor) []any {
	if r == (textRange{}) {
		return nil
	}
	return []any{max(r.from, from.Key), from.ID, FindPage + 1, r.to}
}

// wordArgs are args for words: all their ranges.
func wordArgs(words []textRange, from FindCursor) []any {
	if len(words) == 0 {
		return nil
	}
	var los, his []string
	for _, w := range words {
		los, his = append(los, w.from), append(his, w.to)
	}
	return []any{from.Key, from.ID, FindPage + 1, los, his}
}

// queueLastLooked has a group go on where the look at rows with its rarest word broke off, unless it goes on sooner.
func queueLastLooked(batch *pgx.Batch, g FindGroup, sql string, args []any, words int, found *Found) {
	if args == nil || words == 1 {
		return // every row with the word is a hit
	}
	batch.Queue(sql, args...).Query(func(rows pgx.Rows) error {
		last, err := pgx.CollectRows(rows, pgx.RowToStructByPos[FindCursor])
		if _, sooner := found.next[g]; !sooner && len(last) > 0 {
			found.next[g] = last[0]
		}
		return err
	})
}

const numbersSQL = `WITH page AS MATERIALIZED (SELECT d.id FROM docket d WHERE d.number = ANY($1) LIMIT 50)
	SELECT ` + rowColumns + ` FROM page JOIN docket d USING (id) ORDER BY array_position($1, d.number)`

// numberPrefixSQL goes from the newest down, so a further page ends before the number at which the last one did.
const numberPrefixSQL = `WITH page AS MATERIALIZED (SELECT d.id FROM docket d WHERE d.number ~>=~ $1 AND d.number ~<~ $2
		ORDER BY d.number USING ~>~ LIMIT $3)
	SELECT ` + rowColumns + ` FROM page JOIN docket d USING (id) ORDER BY d.number USING ~>~`

func queueNumbers(batch *pgx.Batch, a asked, from FindCursor, found *Found) {
	if len(a.numbers) > 0 && from.Key == "" {
		batch.Queue(numbersSQL, a.numbers).Query(func(rows pgx.Rows) (err error) {
			found.exactly, err = pgx.CollectRows(rows, scanDocketRow)
			return err
		})
	}
	if a.prefix == (textRange{}) {
		return
	}
	to := a.prefix.to
	if from.Key != "" {
		to = from.Key
	}
	batch.Queue(numberPrefixSQL, a.prefix.from, to, FindPage+1).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanDocketRow)
		if len(list) > FindPage {
			list = list[:FindPage]
			found.next[FoundDockets] = FindCursor{Key: list[FindPage-1].Docket.Number.String()}
		}
		found.beginningWith = list
		return err
	})
}

// ordersSQL finds dockets by the whole number that a firm gave its order, the newest first.
const ordersSQL = `WITH page AS MATERIALIZED (SELECT d.id FROM docket d WHERE lower(d.order_number) = lower($1) ORDER BY d.id DESC LIMIT $2)
	SELECT ` + rowColumns + ` FROM page JOIN docket d USING (id) ORDER BY d.id DESC`

func queueOrders(batch *pgx.Batch, a asked, from FindCursor, found *Found) {
	if a.order == "" || from.Key != "" {
		return
	}
	batch.Queue(ordersSQL, a.order, FindPage).Query(func(rows pgx.Rows) (err error) {
		found.byOrder, err = pgx.CollectRows(rows, scanDocketRow)
		return err
	})
}

// queueCustomers asks for a page of customers.
func queueCustomers(batch *pgx.Batch, g FindGroup, sql string, args []any, found *Found, into *[]FoundCustomer) {
	if args == nil {
		return
	}
	batch.Queue(sql, args...).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (FoundCustomer, error) {
			var c FoundCustomer
			var d docketArrays
			err := row.Scan(append(customerTargets(&c.Customer), &c.key, &c.hit, &d.numbers, &d.stages, &d.opens)...)
			c.Dockets = d.list()
			return c, err
		})
		if len(list) > FindPage {
			list = list[:FindPage]
			found.next[g] = FindCursor{list[FindPage-1].key, list[FindPage-1].hit}
		}
		*into = eachCustomerOnce(list)
		return err
	})
}

// eachCustomerOnce leaves out who was found by two records that were merged.
func eachCustomerOnce(list []FoundCustomer) []FoundCustomer {
	seen := map[int64]bool{}
	return slices.DeleteFunc(list, func(c FoundCustomer) bool {
		twice := seen[c.Customer.ID]
		seen[c.Customer.ID] = true
		return twice
	})
}

// queueJoined adds the customers whose name has two of the words as one.
func queueJoined(batch *pgx.Batch, words []textRange, found *Found) {
	own := &Found{next: map[FindGroup]FindCursor{}}
	found.joined = append(found.joined, own)
	queueCustomers(batch, FoundNames, namesSQL, wordArgs(words, FindCursor{}), own, &own.Names)
}

// queueWatches asks for a page of watches.
func queueWatches(batch *pgx.Batch, g FindGroup, sql string, args []any, found *Found, into *[]FoundWatch) {
	if args == nil {
		return
	}
	batch.Queue(sql, args...).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (FoundWatch, error) {
			var w FoundWatch
			var d docketArrays
			err := row.Scan(append(watchTargets(&w.Watch), &w.OwnerID, &w.Owner, &w.key, &d.numbers, &d.stages, &d.opens)...)
			w.Dockets = d.list()
			return w, err
		})
		if len(list) > FindPage {
			list = list[:FindPage]
			found.next[g] = FindCursor{list[FindPage-1].key, list[FindPage-1].Watch.ID}
		}
		*into = list
		return err
	})
}

// docketArrays are what newestDockets gives.
type docketArrays struct {
	numbers, stages []string
	opens           []bool
}

func (d docketArrays) list() []FoundDocket {
	var list []FoundDocket
	for i := range d.numbers {
		list = append(list, FoundDocket{d.numbers[i], docket.Stage(d.stages[i]), d.opens[i]})
	}
	return list
}
