package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Shop is the shop itself, as it says of itself on its papers.
type Shop struct {
	Name     string `json:"name"`
	Address  string `json:"address,omitempty" doc:"lines"`
	Phone    string `json:"phone,omitempty"`
	Email    string `json:"email,omitempty"`
	Hours    string `json:"opening_hours,omitempty" doc:"a line for each group of days" example:"Mo-Fr 09:00-17:30"`
	Currency string `json:"currency" example:"EUR"`
	TimeZone string `json:"time_zone" example:"Europe/Zurich"`
}

// Amount is a sum of money.
type Amount struct {
	Minor    int64  `json:"minor" doc:"whole minor units"`
	Amount   string `json:"amount" example:"12.50" doc:"the same as a decimal"`
	Currency string `json:"currency" example:"EUR"`
}

// Price is what something costs one customer.
type Price struct {
	Amount
	IncludesTax bool    `json:"includes_tax"`
	TaxPercent  float64 `json:"tax_percent"`
}

// Job is a line of the price list.
type Job struct {
	Code    string            `json:"code"`
	Name    string            `json:"name"`
	Names   map[string]string `json:"names,omitempty" doc:"in other languages, by their codes"`
	Kind    string            `json:"kind"`
	Minutes int               `json:"usual_minutes,omitempty"`
	Price   *Price            `json:"price,omitempty" doc:"as it is today; missing where the job has none yet"`
}

// Part is a part of the catalogue.
type Part struct {
	Number   string   `json:"number"`
	Name     string   `json:"name"`
	Unit     string   `json:"unit,omitempty"`
	Fits     []string `json:"fits,omitempty" doc:"the calibres"`
	OnHand   int      `json:"on_hand" doc:"pieces in the drawer"`
	Reserved int      `json:"reserved" doc:"of them held back for dockets"`
	Price    *Price   `json:"price,omitempty"`
}

type shopOut struct{ Body Shop }

type jobsOut struct {
	Body struct {
		Items []Job `json:"items" nullable:"false"`
	}
}

type partsOut struct {
	Body struct {
		Items []Part `json:"items" nullable:"false"`
		Next  string `json:"next,omitempty" doc:"the cursor of the page that follows"`
	}
}

func (a *API) readLists() {
	huma.Register(a.huma, operation(http.MethodGet, "/shop", "get-shop", "The shop itself; any token may ask", ""),
		func(ctx context.Context, _ *struct{}) (*shopOut, error) {
			s := programOf(ctx).Shop
			return &shopOut{Shop{s.Name, s.Address, s.Phone, s.Email, s.Hours.String(), s.Currency, s.TimeZone}}, nil
		})
	huma.Register(a.huma, operation(http.MethodGet, "/prices", "list-prices", "The jobs of the price list that are offered", token.Prices), a.prices)
	huma.Register(a.huma, operation(http.MethodGet, "/parts", "list-parts", "The parts of the catalogue, by their numbers", token.Stock, http.StatusBadRequest), a.parts)
}

func (a *API) prices(ctx context.Context, _ *struct{}) (*jobsOut, error) {
	list, err := a.store.PriceList(ctx)
	if err != nil {
		return nil, a.explain(ctx, err)
	}
	shop := programOf(ctx).Shop
	today := page.Civil(a.host.Now().In(shop.Location()))
	out := &jobsOut{}
	out.Body.Items = make([]Job, len(list))
	for i, j := range list {
		job := Job{Code: j.Code, Name: j.Name, Kind: string(j.Kind), Minutes: j.Minutes}
		for code, name := range map[string]string{"de": j.NameDe, "fr": j.NameFr} {
			if name != "" {
				if job.Names == nil {
					job.Names = map[string]string{}
				}
				job.Names[code] = name
			}
		}
		if p, ok := j.PriceOn(today); ok {
			job.Price = price(p.Minor, p.Currency, p.IncludesTax, p.TaxBasisPoints)
		}
		out.Body.Items[i] = job
	}
	return out, nil
}

func (a *API) parts(ctx context.Context, in *Paging) (*partsOut, error) {
	after, err := in.after("parts")
	if err != nil {
		return nil, err
	}
	list, more, err := a.store.ProgramParts(ctx, after, in.Limit)
	if err != nil {
		return nil, a.explain(ctx, err)
	}
	out := &partsOut{}
	out.Body.Items = make([]Part, len(list))
	for i, p := range list {
		out.Body.Items[i] = part(p)
	}
	if more {
		out.Body.Next = cursor("parts", list[len(list)-1].Number)
	}
	return out, nil
}

func part(p store.CatalogueRow) Part {
	out := Part{Number: p.Number, Name: p.Name, Unit: p.Unit, Fits: p.Fits, OnHand: p.OnHand, Reserved: p.Reserved}
	if p.PriceMinor != nil {
		out.Price = price(*p.PriceMinor, p.Currency, p.IncludesTax, p.TaxBasisPoints)
	}
	return out
}

func price(minor int64, currency string, includesTax bool, basisPoints int) *Price {
	return &Price{Amount{minor, money.Plain(minor, currency), currency}, includesTax, float64(basisPoints) / 100}
}
