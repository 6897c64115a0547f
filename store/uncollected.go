package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/uncollected"
)

// ConfirmedProfile is the profile of the place that the owner confirmed last; ID 0 while there is none.
type ConfirmedProfile struct {
	ID      int64
	Profile uncollected.Profile
	At      time.Time
	By      string
}

// Confirmed reports whether there is one.
func (c ConfirmedProfile) Confirmed() bool { return c.ID != 0 }

// ConfirmProfile keeps what the owner confirmed: it counts from then on. The error is a *domain.InvalidError (see
// uncollected.Profile.Problems).
func (s *Store) ConfirmProfile(ctx context.Context, p uncollected.Profile, by Actor, at time.Time) error {
	p = p.Tidied()
	if err := domain.Invalid(p.Problems()); err != nil {
		return err
	}
	terms, err := json.Marshal(p)
	if err != nil {
		return err
	}
	confirmed := note{kind: docket.ProfileConfirmed, by: by, at: at, summary: p.ConfirmedSummary(), facts: struct {
		Source string `json:"law"`
		Wait   string `json:"wait_before_the_notice"`
		Notice string `json:"notice_runs"`
		Unowed string `json:"notice_runs_unowed"`
		Form   string `json:"goes_by"`
	}{p.Source, p.Wait.Words(), p.Notice.Words(), p.Unowed.Words(), p.Form}}
	err = s.changeShop(ctx, &confirmed, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO place_profile (terms, confirmed_at, confirmed_by) VALUES ($1, $2, $3)`, string(terms),
			docket.Moment(at), by.StaffID)
		return err
	})
	if err != nil {
		return fmt.Errorf("confirm the profile of the place: %w", Translate(err))
	}
	return nil
}

const profileSQL = `SELECT p.id, p.terms, p.confirmed_at, m.name FROM place_profile p JOIN staff m ON m.id = p.confirmed_by
	ORDER BY p.id DESC LIMIT 1`

func queueProfile(batch *pgx.Batch, c *ConfirmedProfile) {
	batch.Queue(profileSQL).Query(func(rows pgx.Rows) error {
		var terms string
		_, err := pgx.ForEachRow(rows, []any{&c.ID, &terms, &c.At, &c.By}, func() error {
			c.At = c.At.UTC()
			return json.Unmarshal([]byte(terms), &c.Profile)
		})
		return err
	})
}

// PlaceProfile is the profile that was confirmed last; its ID is 0 while there is none.
func (s *Store) PlaceProfile(ctx context.Context) (ConfirmedProfile, error) {
	var c ConfirmedProfile
	var batch pgx.Batch
	queueProfile(&batch, &c)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return c, fmt.Errorf("profile of the place: %w", Translate(err))
	}
	return c, nil
}

// NoticeRow is a letter that was written.
type NoticeRow struct {
	ID int64
	uncollected.Letter
	WrittenOn time.Time // civil day
	WrittenAt time.Time
	By        string
	Posting   uncollected.Posting // zero until it was posted
	PostedBy  string
	Shop      shop.Shop // as it stood when it was written
}

// BlockRow is what was noted against going on.
type BlockRow struct {
	ID        int64
	Kind      uncollected.BlockKind
	Words, By string
	At        time.Time
	LiftedAt  time.Time // zero while it stands
	LiftedBy  string
	LiftedWhy string
}

// UncollectedSheet is how it stands with a watch that waits to be collected.
type UncollectedSheet struct {
	Head    Head
	Profile ConfirmedProfile
	Notices []NoticeRow // oldest first
	Blocks  []BlockRow  // oldest first
	Listed  bool        // a serial is on the watch list
	Photos  []Photo
}

// Standing are the blocks that stand.
func (u UncollectedSheet) Standing() []uncollected.BlockKind {
	var kinds []uncollected.BlockKind
	for _, b := range u.Blocks {
		if b.LiftedAt.IsZero() {
			kinds = append(kinds, b.Kind)
		}
	}
	if u.Listed {
		kinds = append(kinds, uncollected.Listed)
	}
	return kinds
}

// Facts is what the rules read of the sheet on the civil day today in the shop's zone.
func (u UncollectedSheet) Facts(today time.Time, zone *time.Location) uncollected.Facts {
	d := u.Head.Docket
	f := uncollected.Facts{ReadyOn: civilDay(u.Head.MovedAt, zone), Today: today, OwedMinor: max(0, u.Head.Facts.DueMinor),
		Value: d.DeclaredValueMinor, Currency: d.Currency, Blocks: u.Standing()}
	for _, n := range u.Notices {
		f.Notices = append(f.Notices, uncollected.Notice{Kind: n.Kind, PostedOn: n.Posting.On})
	}
	return f
}

// noticesShown and blocksShown bound what a docket's sheet reads.
const noticesShown, blocksShown = 50, 50

// UncollectedSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) UncollectedSheet(ctx context.Context, n docket.Number) (UncollectedSheet, error) {
	var sheet UncollectedSheet
	var found bool
	var batch pgx.Batch
	stood := stoodShops{}
	queueHead(&batch, n, &sheet.Head, &found)
	queueProfile(&batch, &sheet.Profile)
	queueShops(&batch, stood, `SELECT written_under FROM collect_notice WHERE docket_id = (SELECT id FROM docket WHERE number = $1)`,
		n.String())
	batch.Queue(`SELECT k.id, k.kind, k.tongue, k.title, k.addressee, k.body, k.written_on, k.written_at, m.name, k.posted_on,
		coalesce(k.post_number, ''), coalesce(k.photo_id, 0), coalesce(p.name, ''), k.written_under
		FROM collect_notice k JOIN staff m ON m.id = k.written_by LEFT JOIN staff p ON p.id = k.posted_by
		WHERE k.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY k.id LIMIT $2`, n.String(), noticesShown).
		Query(func(rows pgx.Rows) (err error) {
			sheet.Notices, err = pgx.CollectRows(rows, stood.scanNotice)
			return err
		})
	batch.Queue(`SELECT b.id, b.kind, b.words, m.name, b.at, b.lifted_at, coalesce(l.name, ''), coalesce(b.lifted_why, '')
		FROM collect_block b JOIN staff m ON m.id = b.by_id LEFT JOIN staff l ON l.id = b.lifted_by
		WHERE b.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY b.id LIMIT $2`, n.String(), blocksShown).
		Query(func(rows pgx.Rows) (err error) {
			sheet.Blocks, err = pgx.CollectRows(rows, scanBlock)
			return err
		})
	var entries []WatchListMatch
	queueListedMatches(&batch, n, &sheet.Head, &entries)
	queuePhotos(&batch, n, &sheet.Photos)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return UncollectedSheet{}, fmt.Errorf("uncollected docket %s: %w", n, err)
	}
	sheet.Listed = len(entries) > 0
	return sheet, nil
}

func (stood stoodShops) scanNotice(row pgx.CollectableRow) (NoticeRow, error) {
	var n NoticeRow
	var posted *time.Time
	var under int64
	err := row.Scan(&n.ID, &n.Kind, &n.Tongue, &n.Title, &n.Addressee, &n.Body, &n.WrittenOn, &n.WrittenAt, &n.By, &posted,
		&n.Posting.Number, &n.Posting.PhotoID, &n.PostedBy, &under)
	n.WrittenAt, n.Posting.On, n.Shop = n.WrittenAt.UTC(), timeOr(posted), stood[under]
	return n, err
}

func scanBlock(row pgx.CollectableRow) (BlockRow, error) {
	var b BlockRow
	var lifted *time.Time
	err := row.Scan(&b.ID, &b.Kind, &b.Words, &b.By, &b.At, &lifted, &b.LiftedBy, &b.LiftedWhy)
	b.At, b.LiftedAt = b.At.UTC(), timeOr(lifted)
	return b, err
}

// WriteNotice keeps a letter word for word, as it is printed. The error is a *domain.InvalidError (field "kind"), or wraps
// domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) WriteNotice(ctx context.Context, c Change, l uncollected.Letter) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var profile ConfirmedProfile
		var kinds []uncollected.BlockKind
		var head Head
		var entries []WatchListMatch
		var found bool
		var zone string
		var batch pgx.Batch
		queueProfile(&batch, &profile)
		queueHead(&batch, c.Number, &head, &found)
		queueListedMatches(&batch, c.Number, &head, &entries)
		batch.Queue(`SELECT kind FROM collect_block WHERE docket_id = $1 AND lifted_at IS NULL ORDER BY id`, d.ID).Query(func(rows pgx.Rows) (err error) {
			kinds, err = pgx.CollectRows(rows, pgx.RowTo[uncollected.BlockKind])
			return err
		})
		batch.Queue(`SELECT time_zone FROM shop`).QueryRow(func(row pgx.Row) error { return row.Scan(&zone) })
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return nil, err
		}
		if len(entries) > 0 {
			kinds = append(kinds, uncollected.Listed)
		}
		if why := uncollected.WritingProblem(l.Kind, profile.Confirmed(), kinds); why != "" {
			return nil, domain.Invalid(map[string]string{"kind": why})
		}
		on := civilDay(c.At, shop.LocationOf(zone))
		_, err := tx.Exec(ctx, `INSERT INTO collect_notice (docket_id, kind, tongue, title, addressee, body, written_on, written_at,
			written_by, written_under, profile_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, `+newestShop+`, $10)`, d.ID, string(l.Kind),
			l.Tongue, l.Title, l.Addressee, l.Body, on, docket.Moment(c.At), c.By.StaffID, nullID(profile.ID))
		return []event{{kind: docket.NoticeWritten, summary: l.Kind.WrittenSummary(), facts: struct {
			Addressee string `json:"addressee"`
			Title     string `json:"title"`
			Body      string `json:"text"`
		}{l.Addressee, l.Title, l.Body}}}, err
	})
}

// errNoNotice reports a letter that is not of the docket, or was posted already.
var errNoNotice = fmt.Errorf("no letter waits to be posted: %w", domain.ErrChanged)

// PostNotice keeps the proof that a letter was posted, once. The error is a *domain.InvalidError (see
// uncollected.Posting.Problems), or wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) PostNotice(ctx context.Context, c Change, id int64, p uncollected.Posting) error {
	p.Number = text.Line(p.Number)
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var kind uncollected.NoticeKind
		var written time.Time
		var zone string
		err := tx.QueryRow(ctx, `SELECT k.kind, k.written_on, s.time_zone FROM collect_notice k CROSS JOIN shop s
			WHERE k.id = $1 AND k.docket_id = $2 AND k.posted_on IS NULL`, id, d.ID).Scan(&kind, &written, &zone)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil, errNoNotice
		}
		if err != nil {
			return nil, err
		}
		if err := domain.Invalid(p.Problems(written, civilDay(c.At, shop.LocationOf(zone)))); err != nil {
			return nil, err
		}
		tag, err := tx.Exec(ctx, `UPDATE collect_notice SET posted_on = $2, post_number = $3,
			photo_id = (SELECT id FROM photo WHERE id = $4 AND docket_id = $5 AND removed_at IS NULL), posted_at = $6, posted_by = $7
			WHERE id = $1 AND ($4::bigint IS NULL OR EXISTS (SELECT FROM photo WHERE id = $4 AND docket_id = $5 AND removed_at IS NULL))`,
			id, p.On, nullText(p.Number), nullID(p.PhotoID), d.ID, docket.Moment(c.At), c.By.StaffID)
		if err == nil && tag.RowsAffected() == 0 {
			return nil, domain.Invalid(map[string]string{"photo": "That photograph is not one of this docket."})
		}
		return []event{{kind: docket.NoticePosted, summary: kind.PostedSummary(), facts: struct {
			On     string `json:"posted_on"`
			Number string `json:"post_number,omitempty"`
			Photo  int64  `json:"photograph,omitempty"`
		}{docket.DayWords(p.On), p.Number, p.PhotoID}}}, err
	})
}

// NoteBlock keeps what stands against going on. The error is a *domain.InvalidError (see uncollected.BlockProblems), or wraps
// domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) NoteBlock(ctx context.Context, c Change, kind uncollected.BlockKind, words string) error {
	words = text.Lines(words)
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if err := domain.Invalid(uncollected.BlockProblems(kind, words)); err != nil {
			return nil, err
		}
		_, err := tx.Exec(ctx, `INSERT INTO collect_block (docket_id, kind, words, by_id, at) VALUES ($1, $2, $3, $4, $5)`, d.ID,
			string(kind), words, c.By.StaffID, docket.Moment(c.At))
		return []event{{kind: docket.CollectBlocked, summary: kind.NotedSummary(), why: words}}, err
	})
}

// LiftBlock says that a block no longer stands. The error is a *domain.InvalidError (field "why"), or wraps
// domain.ErrNotFound or domain.ErrChanged.
func (s *Store) LiftBlock(ctx context.Context, c Change, id int64, why string) error {
	why = text.Lines(why)
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if problem := uncollected.LiftProblem(why); problem != "" {
			return nil, domain.Invalid(map[string]string{"why": problem})
		}
		var kind uncollected.BlockKind
		err := tx.QueryRow(ctx, `UPDATE collect_block SET lifted_at = $3, lifted_by = $4, lifted_why = $5
			WHERE id = $1 AND docket_id = $2 AND lifted_at IS NULL RETURNING kind`, id, d.ID, docket.Moment(c.At), c.By.StaffID, why).Scan(&kind)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil, domain.ErrChanged
		}
		return []event{{kind: docket.CollectUnblocked, summary: kind.LiftedSummary(), why: why}}, err
	})
}
