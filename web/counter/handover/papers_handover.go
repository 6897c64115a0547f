package handover

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// errNoCard reports that no card stands that could be printed.
var errNoCard = fmt.Errorf("no card stands: %w", domain.ErrNotFound)

// standingCard is the docket's card if one stands and proves itself, and what is kept of it; nothing else is ever
// printed.
func (s *Room) standingCard(r *http.Request) (warranty.Card, store.CardRow, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return warranty.Card{}, store.CardRow{}, err
	}
	sheet, err := s.store.CardSheet(r.Context(), n)
	if err != nil {
		return warranty.Card{}, store.CardRow{}, err
	}
	newest, any := sheet.Newest()
	if !any || !newest.Live() {
		return warranty.Card{}, store.CardRow{}, errNoCard
	}
	card, err := newest.Card()
	if isAltered(err) {
		err = errors.Join(errNoCard, err)
	}
	return card, newest, err
}

// issuedPaper is what an issued card prints: its facts, the shop as it stood then, and the code that proves it.
func (s *Room) issuedPaper(card warranty.Card, kept store.CardRow) paper.WarrantyCard {
	p := s.cardPaper(card, page.VoiceOf(kept.Tongue, kept.Shop))
	p.Number, p.Code, p.Key = card.Code.Grouped(), s.checkURL(card.Code), kept.Signed.KeyID.Grouped()
	_, p.CheckAt, _ = strings.Cut(s.PublicURL+"/w", "://")
	if len(kept.Proof) > 0 {
		p.Code, p.Proof = s.PublicURL+"/card#", warranty.ProofText(kept.Proof)
		if len(p.Code) > warranty.MaxProofAddress { // with it the code would be too fine to read
			p.Code = ""
		}
	}
	return p
}

func (s *Room) showCardPaper(w http.ResponseWriter, r *http.Request) error {
	card, kept, err := s.standingCard(r)
	if err != nil {
		return err
	}
	number := card.Docket.String()
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Warranty card "+card.Code.Grouped()),
		Heading: "Warranty card",
		Advice: "Both faces, on card of 85.60 × 53.98 mm (ISO/IEC 7810 ID-1): in the print dialogue choose that size, " +
			"scale 100 %, margins none.",
		BackHref: view.DocketURL(number, "card"), BackText: "Back to the card",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(number, "papers/warranty-card.pdf"), TestID: "pdf"}},
		s.issuedPaper(card, kept))
}

func (s *Room) sendCardPaper(w http.ResponseWriter, r *http.Request) error {
	card, kept, err := s.standingCard(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "warranty-card-"+card.Code.Grouped(), s.issuedPaper(card, kept), card.IssuedAt)
}

// cardPaper is a card as it would print: the facts that are signed and, at the foot, how to reach the shop.
func (s *Room) cardPaper(card warranty.Card, say page.Voice) paper.WarrantyCard {
	p := paper.WarrantyCard{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue, Docket: card.Docket.String(),
		Watch: strings.TrimSpace(card.Watch.Maker + " " + card.Watch.Model), WorkDone: card.WorkDone,
		From: say.CardDay(card.StartsOn), Until: say.CardDay(card.ExpiresOn), Covers: card.Covers}
	p.Issuer.Name = card.Shop.Name
	if months := card.Months(); months > 0 {
		p.Term = say.Count("paper.card.months", months)
	}
	for _, f := range []paper.Field{{Label: say.Say("paper.card.case_number"), Value: card.Watch.CaseSerial},
		{Label: say.Say("paper.card.movement_number"), Value: card.Watch.MovementSerial},
		{Label: say.Say("paper.reference"), Value: card.Watch.Reference}, {Label: say.Say("paper.calibre"), Value: card.Watch.Calibre}} {
		if f.Value != "" {
			p.Serials = append(p.Serials, f)
		}
	}
	p.Rates, p.RatesNote = cardRates(say, card.Final)
	return p
}

// cardRates are the final rates, with their mean and delta below.
func cardRates(say page.Voice, f warranty.Final) (rates []paper.CardRate, note string) {
	if len(f.Rates) == 0 {
		return nil, ""
	}
	for _, r := range f.Rates {
		rate := paper.CardRate{Symbol: r.Position, Rate: say.Figures(f.RateWords(r.RateSPerDay))}
		if r.AmplitudeDeg > 0 {
			rate.Amplitude = strconv.FormatFloat(r.AmplitudeDeg, 'f', 0, 64)
		}
		rates = append(rates, rate)
	}
	rates = append(rates, paper.CardRate{Symbol: say.Say("paper.card.mean"), Rate: say.Figures(f.RateWords(f.MeanSPerDay))},
		paper.CardRate{Symbol: say.Say("paper.card.delta"), Rate: say.Figures(f.SpreadWords())})
	note = text.Capital(windOfCard(say, f.Rates[0].Wind))
	if u := f.UncertaintyWords(); u != "" {
		note = say.Say("paper.card.rates_note", "wind", note, "u", say.Figures(u))
	}
	return rates, note
}

// windOfCard says the state of wind that a card was signed with, in whatever language it is printed.
func windOfCard(say page.Voice, signed string) string {
	var hours string
	if signed == "full wind" {
		return say.Say("wind.full")
	}
	if _, err := fmt.Sscanf(signed, "after %s h", &hours); err == nil {
		return say.Say("wind.after", "hours", say.Figures(hours))
	}
	return signed
}
