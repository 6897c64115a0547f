package store_test

import (
	"crypto/sha256"
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
)

func (b *bench) photographed(t *testing.T, label photo.Label, contents ...string) []int64 {
	t.Helper()
	var pictures []photo.Picture
	for _, content := range contents {
		pictures = append(pictures, pictureOf(content))
	}
	ids, err := b.AddPhotos(t.Context(), b.by(b.clerk), label, pictures)
	if err != nil {
		t.Fatal(err)
	}
	return ids
}

// The customer sees the photographs that were chosen, until they are taken out of sight.
func TestTheCustomerSeesWhatWasChosen(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.mustSend(t, priced())
	link := b.estimate(t).Link.ID
	hidden := b.photographed(t, photo.Label{About: photo.OfWork}, "a")[0]
	shown := b.photographed(t, photo.Label{About: photo.OfCondition, CustomerSees: true}, "b")[0]
	sees := func(want ...int64) {
		t.Helper()
		page, err := b.LinkPage(t.Context(), link)
		if err != nil {
			t.Fatal(err)
		}
		var got []int64
		for _, p := range page.Photos {
			got = append(got, p.ID)
		}
		if !slices.Equal(got, want) {
			t.Errorf("the customer sees %v, want %v", got, want)
		}
		for _, id := range []int64{hidden, shown} {
			_, _, err := b.LinkPhoto(t.Context(), link, id)
			if ok := slices.Contains(want, id); ok != (err == nil) || !ok && !errors.Is(err, domain.ErrNotFound) {
				t.Errorf("photograph %d: %v", id, err)
			}
		}
	}
	sees(shown)
	begun := len(b.kinds(t, b.n))
	for range 2 { // the second time there is nothing to do
		if err := b.ShowPhoto(t.Context(), b.by(b.clerk), hidden, true); err != nil {
			t.Fatal(err)
		}
	}
	sees(hidden, shown)
	if err := b.ShowPhoto(t.Context(), b.by(b.clerk), shown, false); err != nil {
		t.Fatal(err)
	}
	sees(hidden)
	b.wantKinds(t, begun, docket.PhotoShown, docket.PhotoHidden)
	if err := b.ShowPhoto(t.Context(), b.by(b.clerk), 4711, true); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such photograph gives %v", err)
	}
}

func TestRemovedPhotographsLeaveTheirRow(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.mustSend(t, priced())
	link := b.estimate(t).Link.ID
	id := b.photographed(t, photo.Label{About: photo.OfCondition, Caption: "Her handbag", CustomerSees: true}, "a")[0]
	if problemsOf(t, b.RemovePhoto(t.Context(), b.by(b.owner), id, " "))["reason"] == "" {
		t.Error("removed without a reason")
	}
	begun := len(b.kinds(t, b.n))
	for range 2 { // the second time there is nothing to do
		if err := b.RemovePhoto(t.Context(), b.by(b.owner), id, "It shows her papers."); err != nil {
			t.Fatal(err)
		}
	}
	b.wantKinds(t, begun, docket.PhotoRemoved)
	entries, err := b.ChangesSince(t.Context(), b.n, int64(begun))
	if err != nil || entries[0].Why != "It shows her papers." {
		t.Errorf("journalled as %+v, %v", entries, err)
	}
	sheet, err := b.IntakeSheet(t.Context(), b.n)
	if err != nil || len(sheet.Photos) != 1 || !sheet.Photos[0].Removed() || sheet.Photos[0].RemovedBy == "" ||
		sheet.Photos[0].RemovedWhy != "It shows her papers." || sheet.Photos[0].Sum != sha256.Sum256([]byte("a")) {
		t.Errorf("left of it: %+v, %v", sheet.Photos, err)
	}
	if o, err := b.Overview(t.Context(), b.n); err != nil || len(o.Photos) != 0 {
		t.Errorf("the overview shows %+v, %v", o.Photos, err)
	}
	_, byID := b.Photo(t.Context(), id)
	_, _, byLink := b.LinkPhoto(t.Context(), link, id)
	for what, err := range map[string]error{"read": byID, "read by link": byLink,
		"shown again": b.ShowPhoto(t.Context(), b.by(b.clerk), id, true),
		"captioned":   b.CaptionPhoto(t.Context(), b.by(b.clerk), id, "x")} {
		if !errors.Is(err, domain.ErrNotFound) {
			t.Errorf("a removed photograph can be %s: %v", what, err)
		}
	}
}

// Files go when nothing else names the picture; what a pulled plug left is asked for again.
func TestClearPictures(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ids := b.photographed(t, photo.Label{About: photo.OfWork}, "alone", "twice", "twice", "stays")
	clears := func(pulled error, want ...string) {
		t.Helper()
		var got [][32]byte
		err := b.ClearPictures(t.Context(), func(sum [32]byte) error {
			got = append(got, sum)
			return pulled
		})
		if !errors.Is(err, pulled) {
			t.Errorf("%v, want %v", err, pulled)
		}
		var sums [][32]byte
		for _, content := range want {
			sums = append(sums, sha256.Sum256([]byte(content)))
		}
		if !slices.Equal(got, sums) {
			t.Errorf("clears %x, want %x", got, sums)
		}
	}
	remove := func(id int64) {
		t.Helper()
		if err := b.RemovePhoto(t.Context(), b.by(b.owner), id, "Blurred."); err != nil {
			t.Fatal(err)
		}
	}
	clears(nil)
	remove(ids[0])
	remove(ids[1])
	clears(errors.New("the plug was pulled"), "alone")
	clears(nil, "alone")
	clears(nil)
	remove(ids[2])
	clears(nil, "twice")
	clears(nil)
}

// A private link showed every photograph: those that one could show stay seen, and no other becomes so.
func TestOldPhotographsStayAsTheCustomerSawThem(t *testing.T) {
	t.Parallel()
	s, conn := migratedOver(t, 139, oldDocketSQL, `INSERT INTO customer_link (docket_id, made_by, made_at, expires_at, ended_at)
		SELECT id, 1, '2026-03-02', '2026-06-02', '2026-03-10' FROM docket WHERE seq = 1`, `INSERT INTO photo
		(docket_id, sha256, width, height, bytes, added_by, added_at) SELECT d.id, decode(repeat('ab', 32), 'hex'), 4, 3, 1, 1, a
		FROM docket d, unnest(ARRAY['2026-03-01', '2026-03-05', '2026-03-20']::timestamptz[]) a`)
	rows, _ := conn.Query(t.Context(), `SELECT d.seq, p.added_at, p.customer_sees FROM photo p
		JOIN docket d ON d.id = p.docket_id ORDER BY p.id`)
	defer rows.Close()
	n := 0
	for ; rows.Next(); n++ {
		var seq int
		var added time.Time
		var sees bool
		if err := rows.Scan(&seq, &added, &sees); err != nil {
			t.Fatal(err)
		}
		if want := seq == 1 && added.Before(time.Date(2026, 3, 10, 0, 0, 0, 0, time.UTC)); sees != want {
			t.Errorf("docket %d, photograph of %s: seen %v", seq, added, sees)
		}
	}
	if n != 6 || s == nil {
		t.Errorf("%d photographs", n)
	}
}
