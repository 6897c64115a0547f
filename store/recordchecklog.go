package store

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/tlog"

	"ledgerwheel/domain"
	"ledgerwheel/domain/record"
)

// leavesAtOnce is how many leaves of the log are read together.
const leavesAtOnce = 10_000

// log works out the log's root from its leaves at the size of each seal, and holds it against the seal.
func (k *recordChecker) log(ctx context.Context) error {
	seals := k.sealed
	var tree record.Tree
	wrong := 0
	hold := func() {
		for len(seals) > 0 && seals[0].Size == tree.Size() {
			if seals[0].Root != tree.Root() {
				if wrong++; wrong == 1 {
					k.find(record.Finding{Kind: record.KindSeal, Sentence: fmt.Sprintf("The record no longer holds what %s says: of the %d entries that the log "+
						"had then, some were changed since. A backup from that day has the true ones.", record.SealAt(seals[0].At), seals[0].Size)})
				}
			}
			k.checked.Seals++
			seals = seals[1:]
		}
	}
	hold()
	for {
		n, err := k.leaves(ctx, &tree, hold)
		if err != nil {
			return err
		}
		if n < leavesAtOnce {
			break
		}
	}
	k.checked.LogSize = tree.Size()
	for i, s := range seals {
		k.checked.Seals++
		if i == 0 {
			k.find(record.Finding{Kind: record.KindSeal, Sentence: fmt.Sprintf("The record is shorter than %s says: the log had %d entries then and has %d now. "+
				"A backup from that day has the missing ones.", record.SealAt(s.At), s.Size, tree.Size())})
		}
	}
	if more := wrong + len(seals) - 1; more > 0 && wrong+len(seals) > 1 {
		k.find(record.Finding{Kind: record.KindSeal, Sentence: fmt.Sprintf("%d later seals don't hold either.", more)})
	}
	return nil
}

// leaves adds the next leaves to the tree, and holds what is kept of the tree's inner hashes against it.
func (k *recordChecker) leaves(ctx context.Context, tree *record.Tree, hold func()) (int, error) {
	first := tree.Size()
	rows, _ := k.tx.Query(ctx, `SELECT docket_id, seq, hash, leaf FROM log_leaf WHERE leaf >= $1 ORDER BY leaf LIMIT $2`, first, leavesAtOnce)
	var l record.Leaf
	var hash []byte
	var place int64
	n := 0
	inner := map[int64]tlog.Hash{}
	if _, err := pgx.ForEachRow(rows, []any{&l.DocketID, &l.Seq, &hash, &place}, func() error {
		if place != tree.Size() && n >= 0 {
			k.find(record.Finding{Kind: record.KindLog, Sentence: fmt.Sprintf("The log has a hole: its entry %d is missing.", tree.Size())})
			n = -leavesAtOnce * 2 // said once; the roots after it can't hold
		}
		copy(l.Hash[:], hash)
		at := tlog.StoredHashIndex(0, tree.Size())
		for i, h := range tree.Add(l.RecordHash()) {
			inner[at+int64(i)+1] = h
		}
		hold()
		n++
		return nil
	}); err != nil {
		return 0, err
	}
	if n < 0 {
		return 0, nil
	}
	return n, k.innerHashes(ctx, inner, tlog.StoredHashIndex(0, first), tlog.StoredHashIndex(0, tree.Size()))
}

func (k *recordChecker) innerHashes(ctx context.Context, want map[int64]tlog.Hash, from, to int64) error {
	rows, _ := k.tx.Query(ctx, `SELECT idx, hash FROM log_hash WHERE idx >= $1 AND idx < $2`, from, to)
	var index int64
	var hash []byte
	bad := 0
	_, err := pgx.ForEachRow(rows, []any{&index, &hash}, func() error {
		if h, ok := want[index]; !ok || !bytes.Equal(h[:], hash) {
			bad++
		}
		delete(want, index)
		return nil
	})
	if bad+len(want) > 0 && err == nil {
		k.find(record.Finding{Kind: record.KindLog, Sentence: fmt.Sprintf("%d of the log's inner hashes were changed or are missing.", bad+len(want))})
	}
	return err
}

// seals opens every seal, those kept in the record and those kept elsewhere, in the order of their sizes.
func (k *recordChecker) seals(ctx context.Context) error {
	rows, _ := k.tx.Query(ctx, `SELECT verifier FROM seal_key`)
	inside, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	keys := k.SealKeys
	if len(keys) == 0 { // with none kept elsewhere, those in the record are all there is to go by
		keys = inside
	}
	origin, err := originOf(ctx, k.tx)
	if err != nil {
		return err
	}
	rows, _ = k.tx.Query(ctx, `SELECT note FROM seal ORDER BY made_at`)
	kept, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	var out []record.Seal
	seen := map[string]bool{} // one kept in several places is one
	add := func(text []byte, given bool) error {
		plain := strings.TrimSpace(string(text))
		if seen[plain] {
			return nil
		}
		seen[plain] = true
		s, err := record.OpenSeal(text, record.SealKeys(keys...))
		switch {
		case given && (errors.Is(err, record.ErrUnknownKey) || errors.Is(err, record.ErrNoSeal)):
			return err
		case err != nil:
			k.checked.Seals++
			k.find(record.Finding{Kind: record.KindSeal, Sentence: "A seal can't be relied on: " + err.Error() + "."})
		case s.Origin != origin:
			k.find(record.Finding{Kind: record.KindSeal, Sentence: fmt.Sprintf("%s is of another record: it names %s and this one is %s.",
				record.SealAt(s.At), s.Origin, origin)})
		default:
			out = append(out, s)
		}
		return nil
	}
	for _, text := range kept {
		if err := add([]byte(text), false); err != nil {
			return err
		}
	}
	for _, text := range k.Seals {
		if err := add(text, true); err != nil {
			return err
		}
	}
	slices.SortStableFunc(out, func(a, b record.Seal) int { return cmp.Compare(a.Size, b.Size) })
	k.sealed = out
	return nil
}

// originOf names the log after the first entry of the shop's journal.
func originOf(ctx context.Context, db querier) (string, error) {
	var first []byte
	err := db.QueryRow(ctx, `SELECT coalesce((SELECT hash FROM shop_journal WHERE seq = 1), decode(repeat('00', 32), 'hex'))`).Scan(&first)
	return record.Origin([32]byte(first)), err
}

// files holds photographs and sounds against the sums that rows name.
func (k *recordChecker) files(ctx context.Context) error {
	if k.Files == nil {
		return nil
	}
	const pictures = `SELECT p.sha256, 'The photograph of docket ' || d.number || ' taken in on ' || p.added_at::date FROM photo p JOIN docket d ON d.id = p.docket_id
			WHERE p.removed_at IS NULL
		UNION ALL SELECT c.sha256, 'The drawing of calibre ' || m.name FROM calibre_drawing c JOIN calibre m ON m.id = c.calibre_id
		UNION ALL SELECT o.sha256, 'The photograph of parcel ' || o.parcel_id FROM parcel_photo o WHERE o.removed_at IS NULL`
	const sounds = `SELECT h.sound_sha256, 'The sound of a reading of docket ' || d.number FROM heard h JOIN docket d ON d.id = h.docket_id WHERE h.sound_sha256 IS NOT NULL
		UNION ALL SELECT r.sound_sha256, 'The sound sent in as ' || r.file_name FROM recording r WHERE r.sound_sha256 IS NOT NULL AND r.kept_run_id IS NULL`
	if err := k.eachFile(ctx, pictures, &k.checked.Pictures, k.Files.CheckPicture); err != nil {
		return err
	}
	return k.eachFile(ctx, sounds, &k.checked.Sounds, k.Files.CheckSound)
}

func (k *recordChecker) eachFile(ctx context.Context, sql string, n *int64, check func([32]byte) error) error {
	rows, _ := k.tx.Query(ctx, sql)
	var sum []byte
	var words string
	_, err := pgx.ForEachRow(rows, []any{&sum, &words}, func() error {
		*n++
		err := check([32]byte(sum))
		if errors.Is(err, domain.ErrNotFound) {
			k.find(record.Finding{Kind: record.KindFile, Sentence: fmt.Sprintf("%s is missing (%x…). Send it in again, or look for it in a backup.", words, sum[:6])})
		} else if err != nil {
			k.find(record.Finding{Kind: record.KindFile, Sentence: fmt.Sprintf("%s was altered or can't be read (%x…): %v. Send it in again, or look for it "+
				"in a backup.", words, sum[:6], err)})
		}
		return nil
	})
	return err
}
