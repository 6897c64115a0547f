package store_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/store"
)

func pictureOf(content string) photo.Picture {
	sum := sha256.Sum256([]byte(content))
	return photo.Picture{Full: []byte(content), WidthPx: 40, HeightPx: 30, SHA256: hex.EncodeToString(sum[:])}
}

func TestAddPhotosAllOrNone(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, _ := c.mustTakeIn(t, c.takingIn())
	change := store.Change{Number: n, By: c.clerk, At: c.at}
	ids, err := c.AddPhotos(t.Context(), change, photo.Label{About: photo.OfCondition,
		Caption: " The  dial "}, []photo.Picture{pictureOf("a"), pictureOf("b")})
	if err != nil || len(ids) != 2 {
		t.Fatalf("%v, %v", ids, err)
	}
	sheet, err := c.IntakeSheet(t.Context(), n)
	if err != nil || len(sheet.Photos) != 2 || sheet.Photos[0].Caption != "The dial" || sheet.Photos[1].ID != ids[1] ||
		!sheet.Head.Facts.Condition {
		t.Errorf("%+v, %v", sheet.Photos, err)
	}
	if p, err := c.Photo(t.Context(), ids[0]); err != nil || p.Sum != sha256.Sum256([]byte("a")) ||
		p.AddedBy != "Nuala Reed" {
		t.Errorf("%+v, %v", p, err)
	}
	if kinds := c.kinds(t, n); !slices.Equal(kinds[len(kinds)-2:], []docket.Kind{docket.PhotoAdded, docket.PhotoAdded}) {
		t.Errorf("journal %v", kinds)
	}
	bad := pictureOf("c")
	bad.SHA256 = "no sum"
	if _, err := c.AddPhotos(t.Context(), change, photo.Label{About: photo.OfWork},
		[]photo.Picture{pictureOf("d"), bad}); err == nil {
		t.Error("a picture without sum was kept")
	}
	if sheet, _ = c.IntakeSheet(t.Context(), n); len(sheet.Photos) != 2 {
		t.Errorf("%d photographs, half of a refused lot was kept", len(sheet.Photos))
	}
	_, err = c.AddPhotos(t.Context(), change, photo.Label{About: photo.OfWork}, make([]photo.Picture, photo.MaxPerDocket))
	if problemsOf(t, err)["photos"] == "" {
		t.Error("more photographs than a docket takes")
	}
	if _, err := c.Photo(t.Context(), 4711); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such photograph gives %v", err)
	}
}

func TestCaptionPhoto(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, _ := c.mustTakeIn(t, c.takingIn())
	change := store.Change{Number: n, By: c.clerk, At: c.at}
	ids, err := c.AddPhotos(t.Context(), change, photo.Label{About: photo.OfCondition}, []photo.Picture{pictureOf("a")})
	if err != nil {
		t.Fatal(err)
	}
	if err := c.CaptionPhoto(t.Context(), change, ids[0], "ציפוי שחוק"); err != nil {
		t.Fatal(err)
	}
	if p, _ := c.Photo(t.Context(), ids[0]); p.Caption != "ציפוי שחוק" {
		t.Errorf("caption %q", p.Caption)
	}
	if problemsOf(t, c.CaptionPhoto(t.Context(), change, ids[0],
		strings.Repeat("é", photo.MaxCaption+1)))["caption"] == "" {
		t.Error("a caption too long was kept")
	}
	other := c.takingIn()
	other.NewCustomer, other.NewWatch = true, true
	n2, _ := c.mustTakeIn(t, other)
	if err := c.CaptionPhoto(t.Context(), store.Change{Number: n2, By: c.clerk, At: c.at}, ids[0], "x"); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("another docket's photograph gives %v", err)
	}
}
