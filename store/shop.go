package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
)

// settingColumns are those that tables shop and shop_version have alike; a new setting is a column of both.
var settingColumns = []string{"name", "address", "phone", "email", "time_zone", "locale", "phone_region", "currency",
	"tax_name", "tax_basis_points", "prices_include_tax", "decision_rule", "instrument", "instrument_ppm",
	"warranty_months", "warranty_covers", "ticket_terms", "estimate_days", "idle_minutes", "second_factor", "invoice_years", "bench_hour_minor",
	"tax_said", "ruler_mm", "first_steps_away", "hours",
	"ticket_terms_en", "ticket_terms_de", "ticket_terms_fr", "warranty_covers_en", "warranty_covers_de", "warranty_covers_fr",
	"logo", "no_ticket_rule", "certified_till", "tax_number", "other_tax_number", "card_by_clerk", "logo_none"}

// nullSettings are those whose column is null where nobody said anything.
var nullSettings = settingColumns[slices.Index(settingColumns, "hours"):slices.Index(settingColumns, "card_by_clerk")]

// shopFields are today's settings, and versionFields those of a version v; s is the shop's row either way.
var (
	shopFields    = fieldsOfShop("s")
	versionFields = fieldsOfShop("v")
)

func fieldsOfShop(table string) string {
	columns := table + "." + strings.Join(settingColumns, ", "+table+".")
	columns = strings.Replace(columns, table+".card_by_clerk", "coalesce("+table+".card_by_clerk, false)", 1)
	columns = strings.Replace(columns, table+".decision_rule", table+".decision_rule = 'simple'", 1)
	for column, unsaid := range map[string]string{"invoice_years": "0", "bench_hour_minor": "0", "tax_said": "false", "ruler_mm": "0", "first_steps_away": "false", "logo_none": "false"} {
		columns = strings.Replace(columns, table+"."+column, "coalesce("+table+"."+column+", "+unsaid+")", 1)
	}
	for _, column := range nullSettings {
		columns = strings.Replace(columns, table+"."+column, "coalesce("+table+"."+column+", '')", 1)
	}
	return columns + ", s.link_secret"
}

func shopTargets(s *shop.Shop) []any {
	return []any{&s.Name, &s.Address, &s.Phone, &s.Email, &s.TimeZone, &s.Locale, &s.PhoneRegion, &s.Currency, &s.TaxName,
		&s.TaxBasisPoints, &s.PricesIncludeTax, &s.SimpleAcceptance, &s.Instrument, &s.InstrumentPPM,
		&s.WarrantyMonths, &s.WarrantyCovers, &s.TicketTerms, &s.EstimateDays, &s.IdleMinutes, &s.SecondFactor, &s.InvoiceYears, &s.BenchHourMinor, &s.TaxSaid, &s.RulerMM, &s.FirstStepsAway, (*keptHours)(&s.Hours), &s.TicketTermsEn, &s.TicketTermsDe, &s.TicketTermsFr,
		&s.WarrantyCoversEn, &s.WarrantyCoversDe, &s.WarrantyCoversFr, &s.Logo, &s.NoTicketRule, &s.CertifiedTill, &s.TaxNumber, &s.OtherTaxNumber, &s.CardByClerk, &s.LogoNone, &s.LinkSecret}
}

func shopArgs(s shop.Shop) []any {
	rule := "guarded"
	if s.SimpleAcceptance {
		rule = "simple"
	}
	return []any{s.Name, s.Address, s.Phone, s.Email, s.TimeZone, s.Locale, s.PhoneRegion, s.Currency, s.TaxName,
		s.TaxBasisPoints, s.PricesIncludeTax, rule, s.Instrument, s.InstrumentPPM,
		s.WarrantyMonths, s.WarrantyCovers, s.TicketTerms, s.EstimateDays, s.IdleMinutes, s.SecondFactor, nullZero(s.InvoiceYears), nullZero(s.BenchHourMinor), nullZero(s.TaxSaid), nullZero(s.RulerMM), nullZero(s.FirstStepsAway), nullText(s.Hours.String()),
		nullText(s.TicketTermsEn), nullText(s.TicketTermsDe), nullText(s.TicketTermsFr),
		nullText(s.WarrantyCoversEn), nullText(s.WarrantyCoversDe), nullText(s.WarrantyCoversFr), nullText(string(s.Logo)), nullText(s.NoTicketRule), nullText(s.CertifiedTill), nullText(s.TaxNumber), nullText(s.OtherTaxNumber),
		onlyTrue(s.CardByClerk), onlyTrue(s.LogoNone)}
}

// keptHours reads opening hours as they are kept.
type keptHours shop.Hours

// Scan implements sql.Scanner.
func (h *keptHours) Scan(kept any) error {
	written, ok := kept.(string)
	if !ok {
		return fmt.Errorf("opening hours: kept as %T", kept)
	}
	read, err := shop.ParseHours(written)
	*h = keptHours(read)
	return err
}

// nullZero keeps what was not said as null.
func nullZero[T comparable](said T) *T {
	var none T
	if said == none {
		return nil
	}
	return &said
}

// onlyTrue is null for a setting that is not chosen: its column came later than the rows of versions before it.
func onlyTrue(chosen bool) *bool {
	if !chosen {
		return nil
	}
	return &chosen
}

// settingArgs are $1, $2 … for settingColumns.
func settingArgs() string {
	list := make([]string, len(settingColumns))
	for i := range list {
		list[i] = fmt.Sprintf("$%d", i+1)
	}
	return strings.Join(list, ", ")
}

// Shop returns the shop's settings; the error wraps domain.ErrNotFound until the first owner is made.
func (s *Store) Shop(ctx context.Context) (shop.Shop, error) {
	var out shop.Shop
	err := s.db.QueryRow(ctx, `SELECT `+shopFields+` FROM shop s`).Scan(shopTargets(&out)...)
	if err != nil {
		return shop.Shop{}, fmt.Errorf("shop: %w", Translate(err))
	}
	return out, nil
}

// Found makes the shop and its first owner, who has the given password hash, and returns the owner's id.
// The error is domain.ErrChanged when the shop is there already: only one person can be first.
func (s *Store) Found(ctx context.Context, sh shop.Shop, owner staff.Member, passwordHash string, at time.Time) (int64,
	error) {
	var id int64
	founded := note{kind: docket.ShopFounded, at: at, summary: docket.ShopFoundedSummary(sh.Name, owner.Name)}
	err := s.changeShop(ctx, &founded, func(tx pgx.Tx) error {
		args := append(shopArgs(sh), sh.LinkSecret)
		tag, err := tx.Exec(ctx, `INSERT INTO shop (`+strings.Join(settingColumns, ", ")+`, link_secret)
			VALUES (`+settingArgs()+fmt.Sprintf(", $%d", len(args))+`) ON CONFLICT DO NOTHING`, args...)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return domain.ErrChanged
		}
		if id, err = insertMember(ctx, tx, owner, passwordHash, at); err != nil {
			return err
		}
		return keepVersion(ctx, tx, id, at)
	})
	if err != nil {
		return 0, fmt.Errorf("found the shop: %w", Translate(err))
	}
	return id, nil
}

// SaveShop replaces the settings, and keeps as a version what they are from at on and who made them so; settings saved
// as they stood make none. The link secret is kept as it was.
func (s *Store) SaveShop(ctx context.Context, sh shop.Shop, by Actor, at time.Time) error {
	return s.saveShop(ctx, sh, by, at, nil)
}

// saveShop does first what the settings will name, in the same transaction; nil for nothing.
func (s *Store) saveShop(ctx context.Context, sh shop.Shop, by Actor, at time.Time, first func(pgx.Tx) error) error {
	columns := strings.Join(settingColumns, ", ")
	saved := note{kind: docket.SettingsSaved, by: by, at: at, summary: docket.SettingsSavedSummary}
	err := s.changeShop(ctx, &saved, func(tx pgx.Tx) error {
		if first != nil {
			if err := first(tx); err != nil {
				return err
			}
		}
		tag, err := tx.Exec(ctx, `UPDATE shop SET (`+columns+`) = ROW(`+settingArgs()+`)
			WHERE ROW(`+columns+`) IS DISTINCT FROM ROW(`+settingArgs()+`)`, shopArgs(sh)...)
		if err != nil || tag.RowsAffected() == 0 {
			return err
		}
		return keepVersion(ctx, tx, by.StaffID, at)
	})
	if err != nil {
		return fmt.Errorf("save the shop: %w", Translate(err))
	}
	return nil
}

// keepVersion keeps the settings as they stand in the shop's row, which the transaction has written.
func keepVersion(ctx context.Context, tx pgx.Tx, by int64, at time.Time) error {
	columns := strings.Join(settingColumns, ", ")
	_, err := tx.Exec(ctx, `INSERT INTO shop_version (`+columns+`, made_at, made_by) SELECT `+columns+`, $1, $2 FROM shop`,
		docket.Moment(at), nullID(by))
	return err
}

// newestShop is the version that stands now: what a change makes is made under it.
const newestShop = `(SELECT max(id) FROM shop_version)`

// NewestShop returns the settings with when they were saved and by whom; the error wraps domain.ErrNotFound until
// there are any.
func (s *Store) NewestShop(ctx context.Context) (shop.Version, error) {
	var v shop.Version
	err := s.db.QueryRow(ctx, `SELECT `+versionFields+`, v.made_at, coalesce(m.name, '')
		FROM shop s, shop_version v LEFT JOIN staff m ON m.id = v.made_by WHERE v.id = `+newestShop).
		Scan(append(shopTargets(&v.Shop), &v.MadeAt, &v.MadeBy)...)
	if err != nil {
		return shop.Version{}, fmt.Errorf("newest settings: %w", Translate(err))
	}
	v.MadeAt = v.MadeAt.UTC()
	return v, nil
}

// stoodShops are versions of the settings by their ids. What was not said yet is under version 0: today's.
type stoodShops map[int64]shop.Shop

// queueShops adds to a batch the reading of the versions whose ids a query gives, and of today's. It is queued before
// what is given its shop while it is read.
func queueShops(batch *pgx.Batch, stood stoodShops, ids string, args ...any) {
	batch.Queue(`SELECT v.id, v.id = `+newestShop+`, `+versionFields+`
		FROM shop s, shop_version v WHERE v.id = `+newestShop+` OR v.id IN (`+ids+`)`, args...).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var id int64
			var newest bool
			var sh shop.Shop
			if err := rows.Scan(append([]any{&id, &newest}, shopTargets(&sh)...)...); err != nil {
				return err
			}
			stood[id] = sh
			if newest {
				stood[0] = sh
			}
		}
		return rows.Err()
	})
}

// give reads the version that a row names, if there is a row.
func (stood stoodShops) give(to *shop.Shop) func(pgx.Rows) error {
	return func(rows pgx.Rows) error {
		var id int64
		_, err := pgx.ForEachRow(rows, []any{&id}, func() error {
			*to = stood[id]
			return nil
		})
		return err
	}
}
