package demoshop

import (
	"context"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/token"
)

// otherPrograms gives the shop's web site a way to read the price list, if it has none yet. Its secret is kept nowhere.
func (f *filler) otherPrograms(ctx context.Context) error {
	kept, err := f.store.Tokens(ctx)
	if err != nil || len(kept.Tokens) > 0 {
		return err
	}
	_, err = f.store.MakeToken(ctx, token.Token{Name: "The shop’s web site", Scopes: []token.Scope{token.Prices},
		MadeAt: f.calendar.at(firstBack, "09:40")}, f.staff[staff.Owner])
	return err
}
