package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/text"
)

const (
	leastSlipped = 4 // letters of a word that may hold a slip
	mostNear     = 3 // words that one typed word may have been meant for
	mostInstead  = 4 // texts that are looked for instead of one that finds nothing
	shortName    = 3 // letters of a word that may belong to the next: O'Malley typed as o malley
)

// nearSQL gives of each typed word ($3, of the rests $2 the number $1) the words of the record that it may have been meant
// for, and with "" whether any begins with it.
const nearSQL = `(SELECT DISTINCT p.n, s.word FROM unnest($1::int[], $2::text[]) AS p (n, slip)
		JOIN find_slip s ON s.slip = p.slip LIMIT 300)
	UNION ALL SELECT q.n::int, '' FROM unnest($3::text[] COLLATE "C", $4::text[] COLLATE "C") WITH ORDINALITY AS q (lo, hi, n)
		WHERE EXISTS (SELECT FROM customer_word c WHERE c.word >= q.lo AND c.word < q.hi)
		OR EXISTS (SELECT FROM watch_word c WHERE c.word >= q.lo AND c.word < q.hi)`

// insteadOf are texts that may have been meant by words that find nothing: each word one slip from a word of the record,
// or as it is where it begins one.
func (s *Store) insteadOf(ctx context.Context, words []textRange) ([]string, error) {
	var at []int
	var rests, los, his []string
	for i, w := range words {
		los, his = append(los, w.from), append(his, w.to)
		if utf8.RuneCountInString(w.from) < leastSlipped {
			continue
		}
		for _, rest := range text.WithoutOne(w.from) {
			at, rests = append(at, i+1), append(rests, rest)
		}
	}
	choices := make([][]string, len(words))
	rows, _ := s.db.Query(ctx, nearSQL, at, rests, los, his)
	var n int
	var word string
	_, err := pgx.ForEachRow(rows, []any{&n, &word}, func() error {
		typed := words[n-1].from
		switch {
		case word == "":
			choices[n-1] = append(choices[n-1], typed)
		case text.OneSlip(typed, word):
			choices[n-1] = append(choices[n-1], word)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("find what was meant: %w", Translate(err))
	}
	return combined(words, choices), nil
}

// combined puts one choice for each word together, first those that change the fewest; never the words as they were.
func combined(words []textRange, choices [][]string) []string {
	type meant struct {
		words   []string
		changes int
	}
	all := []meant{{}}
	for i, w := range words {
		slices.Sort(choices[i])
		if len(choices[i]) > mostNear {
			choices[i] = choices[i][:mostNear]
		}
		var next []meant
		for _, m := range all {
			for _, c := range choices[i] {
				changes := m.changes
				if c != w.from {
					changes++
				}
				next = append(next, meant{append(slices.Clone(m.words), c), changes})
			}
		}
		all = next
	}
	slices.SortStableFunc(all, func(a, b meant) int { return a.changes - b.changes })
	var texts []string
	for _, m := range all {
		if m.changes > 0 && len(texts) < mostInstead {
			texts = append(texts, strings.Join(m.words, " "))
		}
	}
	return texts
}

// joined are the words with a short one and its neighbour made one, each such pair for itself.
func joined(words []textRange) [][]textRange {
	var ways [][]textRange
	for i := 0; i+1 < len(words); i++ {
		a, b := words[i].from, words[i+1].from
		if utf8.RuneCountInString(a) > shortName {
			continue
		}
		way := slices.Concat(words[:i], []textRange{beginningWith(a + b)}, words[i+2:])
		ways = append(ways, way)
	}
	return ways
}

// bothLooked is how many rows that have the rarest word are looked at for the others.
const bothLooked = "60"

// ownWord and watchWord tell that the owner or the watch t has a word in a range.
const (
	ownWord   = `EXISTS (SELECT FROM customer_word y WHERE y.customer_id = t.customer_id AND y.word >= w.lo AND y.word < w.hi)`
	watchWord = `EXISTS (SELECT FROM watch_word y WHERE y.watch_id = t.id AND y.word >= w.lo AND y.word < w.hi)`
)

// bothHits picks watches of which some words are the owner's and the others the watch's. It looks at those of the owners
// who have the rarest of the words, and at the watches that have the rarest.
const bothHits = `WITH w AS MATERIALIZED (SELECT lo, hi,
		(SELECT count(*) FROM (SELECT FROM customer_word WHERE word >= lo AND word < hi LIMIT ` + bothLooked + `) n) AS owners,
		(SELECT count(*) FROM (SELECT FROM watch_word WHERE word >= lo AND word < hi LIMIT ` + bothLooked + `) n) AS watches
		FROM unnest($1::text[] COLLATE "C", $2::text[] COLLATE "C") AS q (lo, hi)),
	near AS MATERIALIZED (
		(SELECT b.id FROM (SELECT lo, hi FROM w WHERE owners > 0 ORDER BY owners, lo LIMIT 1) r,
			LATERAL (SELECT customer_id FROM customer_word WHERE word >= r.lo AND word < r.hi LIMIT ` + bothLooked + `) a,
			LATERAL (SELECT id FROM watch WHERE customer_id = a.customer_id ORDER BY id DESC LIMIT 20) b LIMIT ` + bothLooked + `)
		UNION
		SELECT a.watch_id FROM (SELECT lo, hi FROM w WHERE watches > 0 ORDER BY watches, lo LIMIT 1) r,
			LATERAL (SELECT watch_id FROM watch_word WHERE word >= r.lo AND word < r.hi LIMIT ` + bothLooked + `) a),
	h AS MATERIALIZED (SELECT t.id, '' AS key FROM near JOIN LATERAL (SELECT id, customer_id FROM watch WHERE id = near.id LIMIT 1) t ON true
		WHERE NOT EXISTS (SELECT FROM w WHERE NOT ` + ownWord + ` AND NOT ` + watchWord + `)
		AND EXISTS (SELECT FROM w WHERE NOT ` + ownWord + `) AND EXISTS (SELECT FROM w WHERE NOT ` + watchWord + `)
		ORDER BY t.id DESC LIMIT $3)`

var bothSQL = watchesFoundSQL(bothHits)

// bothArgs are what bothSQL is asked with. One word can't be both.
func bothArgs(words []textRange) []any {
	if len(words) < 2 {
		return nil
	}
	args := wordArgs(words, FindCursor{})
	return []any{args[3], args[4], FindPage}
}
