package demoshop

import (
	"errors"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	proof "ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/storetest"
)

// TestParcelGoesWithItsSender: the label on a parcel shows name and street. It follows the sender's record when that is merged into
// another, and goes with the data of the person: the words on the page, and the photographs with their files. Their rows stay with
// the sums, and the record check stays whole.
func TestParcelGoesWithItsSender(t *testing.T) {
	t.Parallel()
	s, uploads := storetest.New(t), openUploads(t)
	if err := fill(t.Context(), s, uploads, testNow, twoDays); err != nil {
		t.Fatal(err)
	}
	r := read(t, s)
	sender, kept := r.heads[0].Customer, r.heads[1].Customer
	parcelID := r.heads[0].ParcelID
	before, err := s.ParcelIn(t.Context(), parcelID)
	if err != nil || len(before.Photos) != 1 || before.Sender != "C. Shiomi" || before.Removed != 0 {
		t.Fatalf("%+v, %v", before, err)
	}
	owner, err := s.CredentialsOf(t.Context(), people[0].member.Email)
	if err != nil {
		t.Fatal(err)
	}
	by := store.Actor{StaffID: owner.Member.ID, Name: owner.Member.Name, Role: owner.Member.Role}
	_, keptVersion, err := s.Customer(t.Context(), kept.ID)
	if err != nil {
		t.Fatal(err)
	}
	_, otherVersion, err := s.Customer(t.Context(), sender.ID)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.MergeCustomers(t.Context(), store.Merging{Kept: kept.ID, Other: sender.ID, KeptVersion: keptVersion, OtherVersion: otherVersion,
		Sides: map[string]customer.Side{"name": customer.OfKept}, Why: "The same person.", By: by, At: testNow}); err != nil {
		t.Fatal(err)
	}
	later := testNow.AddDate(9, 0, 0)
	help, err := s.ErasureHelp(t.Context(), kept.ID, later.Truncate(24*time.Hour))
	if err != nil || help.ParcelPhotos != 1 {
		t.Errorf("the page of the erasure counts %d photographs of parcels, %v", help.ParcelPhotos, err)
	}
	if n, err := s.EraseAgain(t.Context(), []store.ErasedID{{ID: kept.ID, At: later}}, later.Truncate(24*time.Hour), later); err != nil || n != 1 {
		t.Fatalf("%d erased, %v", n, err)
	}
	after, err := s.ParcelIn(t.Context(), parcelID)
	if err != nil || len(after.Photos) != 0 || after.Removed != 1 || strings.Contains(after.Sender, "Shiomi") {
		t.Errorf("the parcel is %+v, %v", after, err)
	}
	photo := before.Photos[0]
	if _, err := s.ParcelPhoto(t.Context(), photo.ID); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("the photograph is still sent: %v", err)
	}
	if err := s.ClearPictures(t.Context(), uploads.Remove); err != nil {
		t.Fatal(err)
	}
	if f, err := uploads.Open(photo.Sum, files.Full); !errors.Is(err, domain.ErrNotFound) {
		if err == nil {
			f.Close()
		}
		t.Errorf("its file is still there: %v", err)
	}
	var sum []byte
	if err := s.Pool().QueryRow(t.Context(), `SELECT sha256 FROM parcel_photo WHERE id = $1 AND cleared_at IS NOT NULL`, photo.ID).Scan(&sum); err != nil || [32]byte(sum) != photo.Sum {
		t.Errorf("its sum is not kept: %x, %v", sum, err)
	}
	checked, err := s.CheckRecord(t.Context(), store.RecordCheck{Files: uploads}, func(f proof.Finding) { t.Errorf("record check: %s", f.Sentence) })
	if err != nil || checked.Dockets != 2 {
		t.Errorf("%+v, %v", checked, err)
	}
	entries := read(t, s).entries[r.heads[0].Docket.ID]
	if last := entries[len(entries)-1]; !strings.Contains(string(last.Facts), `"photographs_of_the_parcel_removed":1`) {
		t.Errorf("the journal does not say that the photograph went: %s %s", last.Summary, last.Facts)
	}
}
