package store_test

import (
	"bytes"
	"context"
	"slices"
	"testing"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/store/keyring"
)

// Whatever is altered behind the program's back, the card no longer counts as genuine. The guard of the table is
// switched off to get that far.
func TestTamperedCards(t *testing.T) {
	t.Parallel()
	for name, sql := range map[string]string{
		"serial":    `UPDATE warranty_card SET payload = convert_to(replace(encode(payload, 'escape'), '1O47-I', '9999-9'), 'UTF8')`,
		"one byte":  `UPDATE warranty_card SET payload = set_byte(payload, 60, (get_byte(payload, 60) + 1) % 256)`,
		"signature": `UPDATE warranty_card SET signature = set_byte(signature, 3, (get_byte(signature, 3) + 1) % 256)`,
		"code":      `UPDATE warranty_card SET code = 'AAAAAAAAAAAAAAAA'`,
		"key":       `UPDATE signing_key SET public = set_byte(public, 3, (get_byte(public, 3) + 1) % 256)`,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := ready(t)
			code := b.mustIssue(t)
			if name != "key" {
				if _, err := b.Pool().Exec(t.Context(), sql); err == nil {
					t.Error("the table let a card be edited")
				}
				b.record(t, `ALTER TABLE warranty_card DISABLE TRIGGER warranty_card_fixed`)
			}
			b.record(t, sql)
			if name == "code" {
				code = "AAAAAAAAAAAAAAAA"
			}
			if facts := b.standing(t, code); facts.Standing != warranty.Unknown || facts.Shop != "" {
				t.Errorf("public facts %+v", facts)
			}
			if card, _ := b.cards(t).Newest(); second(card.Card()) == nil {
				t.Error("the shop's own page takes it for genuine")
			}
			if err := second(b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "x")); err == nil {
				t.Error("an altered card was reissued")
			}
			if err := b.VoidCard(t.Context(), b.change(t, b.owner), "altered in the database"); err != nil {
				t.Errorf("an altered card can't be voided: %v", err)
			}
		})
	}
}

// What the program itself never does, the table refuses.
func TestCardsAreNeverEdited(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustIssue(t)
	if err := b.VoidCard(t.Context(), b.change(t, b.owner), "lost"); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{`DELETE FROM warranty_card`, `UPDATE warranty_card SET void_reason = 'other'`,
		`UPDATE warranty_card SET voided_at = NULL, voided_by = NULL`, `UPDATE warranty_card SET issued_at = now()`,
		`UPDATE warranty_card SET supersedes = id`} {
		if _, err := b.Pool().Exec(t.Context(), sql); err == nil {
			t.Errorf("%s went through", sql)
		}
	}
}

func TestCardCheckOfNothing(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if got := b.standing(t, "ABCDEFGHIJKLMNOP"); got.Standing != warranty.Unknown {
		t.Errorf("a code of nothing is %s", got.Standing)
	}
}

// Whoever types one letter wrong is told so, and learns nothing else.
func TestCardCheckOfASlip(t *testing.T) {
	t.Parallel()
	b := ready(t)
	code := b.mustIssue(t)
	for _, typed := range code.Slips() {
		if got := b.standing(t, typed); got != (warranty.PublicFacts{Standing: warranty.Mistyped, Code: typed}) {
			t.Fatalf("%s for %s: %+v", typed, code, got)
		}
	}
	if got := b.standing(t, "ABCDEFGHIJKLMNOP"); got.Standing != warranty.Unknown {
		t.Errorf("another code is %s", got.Standing)
	}
}

func TestCardSheetSuggestsTheAgreedWork(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.record(t, `INSERT INTO estimate_line (revision_id, ordinal, kind, description, quantity_milli, unit_minor, tax_basis_points, optional, declined)
		VALUES ((SELECT id FROM estimate_revision WHERE docket_id = {d}), 1, 'labour', 'Full service', 1000, 8000, 0, false, false),
			((SELECT id FROM estimate_revision WHERE docket_id = {d}), 2, 'part', 'Crystal', 1000, 4000, 0, true, true),
			((SELECT id FROM estimate_revision WHERE docket_id = {d}), 3, 'discount', 'Old customer', 1000, -100, 0, false, false)`)
	if got := b.cards(t).Suggested; !slices.Equal(got.WorkDone, []string{"Full service", "Tested at 3 bar, in air, on 24 November 2026"}) || got.Months != 12 {
		t.Errorf("suggested %+v", got)
	}
}

func TestCardReadsAreOneRoundTrip(t *testing.T) {
	t.Parallel()
	b := ready(t)
	code := b.mustIssue(t)
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.CardSheet(ctx, b.n)) })
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.CardCheck(ctx, code)) })
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.SigningKeys(ctx)) })
}

// The private half of a key never leaves the store, and two shops' keys differ.
func TestKeysAreShownWithoutTheirSecret(t *testing.T) {
	t.Parallel()
	a, b := ready(t), ready(t)
	a.mustIssue(t)
	b.mustIssue(t)
	ka, _ := a.SigningKeys(t.Context())
	kb, _ := b.SigningKeys(t.Context())
	_, seed, err := a.Keys().Newest(keyring.Card)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(ka[0].Public, kb[0].Public) || bytes.Equal(ka[0].Public, seed) {
		t.Error("keys are alike")
	}
}
