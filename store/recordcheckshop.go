package store

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
)

// shopJournal checks the shop's own journal and takes up the rows that it declares, and those of the shop that were
// brought in.
func (k *recordChecker) shopJournal(ctx context.Context) error {
	var head docket.Head
	var hash []byte
	if err := k.tx.QueryRow(ctx, `SELECT seq, hash FROM shop_head`).Scan(&head.Seq, &hash); err != nil {
		return err
	}
	copy(head.Hash[:], hash)
	rows, _ := k.tx.Query(ctx, `SELECT 0::bigint, `+checkedColumns+` FROM shop_journal j
		LEFT JOIN log_leaf l ON l.docket_id = 0 AND l.seq = j.seq
		LEFT JOIN log_pending p ON p.docket_id = 0 AND p.seq = j.seq AND p.hash = j.hash ORDER BY j.seq`)
	entries, err := pgx.CollectRows(rows, scanChecked)
	if err != nil {
		return err
	}
	const name = "The shop"
	if len(entries) == 0 || entries[0].Kind != docket.RecordBegun {
		k.find(record.Finding{Kind: record.KindEntry, Sentence: "The shop's journal does not begin with the entry that began the record check: " +
			"it was emptied or made without the program."})
	} else if err := json.Unmarshal(entries[0].Facts, &k.begun); err != nil {
		return err
	}
	k.chain(docket.ShopJournal, entries, head, name, "")
	if err := k.shopBrought(ctx); err != nil {
		return err
	}
	k.takeUp(entries, 0, name, "", k.looseAt)
	var n, first int64
	err = k.tx.QueryRow(ctx, `SELECT count(*), coalesce(min(l.seq), 0) FROM log_leaf l WHERE l.docket_id = 0
		AND NOT EXISTS (SELECT FROM shop_journal j WHERE j.seq = l.seq)`).Scan(&n, &first)
	if err == nil && n > 0 {
		k.find(record.Finding{Kind: record.KindEntry, Entry: first, Sentence: fmt.Sprintf("%d entries that the log has are missing from the "+
			"shop's journal, from entry %d on. A backup from before has them.", n, first)})
	}
	return err
}

func (k *recordChecker) shopBrought(ctx context.Context) error {
	var lines string
	// Rows below the shop's own are of nobody: whoever adds one changes the sum of all.
	err := k.tx.QueryRow(ctx, `SELECT coalesce((SELECT string_agg(lines, '' ORDER BY docket_id) FROM record_base WHERE docket_id <= 0), '')`).Scan(&lines)
	if err != nil || lines == "" {
		return err
	}
	k.base.Add(docket.ShopJournal, lines)
	return eachBased(lines, func(l record.Line) error {
		row := k.looseAt(l.Row())
		row.trail = append(row.trail, record.Step{Order: -1, Was: l.Was, Now: l.Now})
		return nil
	})
}

// settle judges the rows that no range of dockets could, and what was brought in as a whole.
func (k *recordChecker) settle(ctx context.Context) error {
	if sum := k.base.String(); k.begun.Base != sum && (k.begun.Base != "" || k.begun.Rows > 0) {
		k.find(record.Finding{Kind: record.KindRow, Sentence: "The rows noted when the record check began are not those that the first entry " +
			"of the shop's journal speaks of: the table record_base was changed."})
	}
	bad := map[record.Row]*looseRow{}
	for row, l := range k.loose {
		l.trail.Sort()
		if fault, _ := l.trail.Check(l.is); fault != record.Whole {
			bad[row] = l
		}
	}
	numbers, err := k.numbersOf(ctx, bad)
	if err != nil {
		return err
	}
	for _, row := range slices.SortedFunc(maps.Keys(bad), func(a, b record.Row) int {
		return strings.Compare(a.Relation+" "+a.Key, b.Relation+" "+b.Key)
	}) {
		k.find(findingOf(row, bad[row], numbers))
	}
	return nil
}

func findingOf(row record.Row, l *looseRow, numbers map[int64]string) record.Finding {
	fault, at := l.trail.Check(l.is)
	rel, _ := relationOf(row.Relation)
	f := record.Finding{Kind: record.KindRow}
	id := l.docketID
	if id == 0 && len(l.trail) > 0 {
		id = l.trail[len(l.trail)-1].DocketID
	}
	f.Docket = numbers[id]
	what := fmt.Sprintf("%s (%s %s)", rel.words, row.Relation, row.Key)
	if f.Docket != "" {
		what = fmt.Sprintf("docket %s: %s", f.Docket, what)
	}
	entry, before := "", ""
	if at >= 0 {
		entry, f.Entry = stepWords(l.trail[at], numbers), l.trail[at].Seq
		if at > 0 {
			before = stepWords(l.trail[at-1], numbers)
		}
	}
	f.Sentence = record.RowSentence(fault, what, entry, before)
	return f
}

func stepWords(s record.Step, numbers map[int64]string) string {
	switch {
	case s.Seq == 0:
		return "the beginning of the record check"
	case s.DocketID == docket.ShopJournal:
		return fmt.Sprintf("entry %d of the shop's journal", s.Seq)
	case numbers[s.DocketID] == "":
		return fmt.Sprintf("entry %d of a docket that is missing", s.Seq)
	}
	return fmt.Sprintf("entry %d of docket %s", s.Seq, numbers[s.DocketID])
}

// numbersOf reads the numbers of the dockets that sentences will speak of.
func (k *recordChecker) numbersOf(ctx context.Context, bad map[record.Row]*looseRow) (map[int64]string, error) {
	ids := map[int64]bool{}
	for _, l := range bad {
		ids[l.docketID] = true
		for _, s := range l.trail {
			ids[s.DocketID] = true
		}
	}
	numbers := map[int64]string{}
	if len(bad) == 0 {
		return numbers, nil
	}
	rows, _ := k.tx.Query(ctx, `SELECT id, year, seq FROM docket WHERE id = ANY($1)`, slices.Collect(maps.Keys(ids)))
	var id int64
	var n docket.Number
	_, err := pgx.ForEachRow(rows, []any{&id, &n.Year, &n.Seq}, func() error {
		numbers[id] = n.String()
		return nil
	})
	return numbers, err
}
