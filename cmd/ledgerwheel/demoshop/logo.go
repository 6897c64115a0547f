package demoshop

import (
	"context"

	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/staff"
)

// quayLogo is the invented shop's: a balance wheel with a tern over the water of the quay.
const quayLogo = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 240 120">
<g fill="none" stroke="#24456b" stroke-width="5">
<circle cx="120" cy="58" r="50"/><circle cx="120" cy="58" r="5"/><path d="M120 63V108M124 55L163 32M116 55L77 32"/>
<path d="M12 112Q26 102 40 112T68 112T96 112T124 112T152 112T180 112T208 112T236 112" stroke="#8a6a2a" stroke-linecap="round"/></g>
<path fill="#24456b" d="M150 22C170 8 190 4 212 8C196 12 184 20 178 30C194 28 214 32 230 44C208 42 190 44 172 40L158 52L160 38Z"/></svg>`

// logo puts the logo on the shop's papers, once.
func (f *filler) logo(ctx context.Context) error {
	sh, err := f.store.Shop(ctx)
	if err != nil || sh.Logo != "" {
		return err
	}
	picture, err := logo.Process([]byte(quayLogo))
	if err != nil {
		return err
	}
	f.shop.Logo = picture.Name
	return f.store.SaveLogo(ctx, sh, picture, f.staff[staff.Owner], f.calendar.at(openedBack, "09:05"))
}
