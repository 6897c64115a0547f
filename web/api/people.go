package api

import (
	"context"
	"net/http"
	"strconv"

	"github.com/danielgtaylor/huma/v2"

	"ledgerwheel/domain/token"
)

// Customer is whom the shop works for.
type Customer struct {
	ID       int64  `json:"id"`
	Name     string `json:"name"`
	Firm     bool   `json:"firm"`
	Phone    string `json:"phone,omitempty" doc:"in E.164 where it could be read, else as typed"`
	Email    string `json:"email,omitempty"`
	Address  string `json:"address,omitempty" doc:"lines"`
	Language string `json:"language,omitempty" doc:"in which the customer is written to" example:"de"`
}

type customersOut struct {
	Body struct {
		Items []Customer `json:"items" nullable:"false"`
		Next  string     `json:"next,omitempty" doc:"the cursor of the page that follows"`
	}
}

func (a *API) readPeople() {
	op := operation(http.MethodGet, "/customers", "list-customers", "Customers, oldest first", token.Customers, http.StatusBadRequest)
	op.Description += " Without those that were merged into others or erased."
	huma.Register(a.huma, op, func(ctx context.Context, in *Paging) (*customersOut, error) {
		after, err := in.afterID("customers")
		if err != nil {
			return nil, err
		}
		list, more, err := a.store.ProgramCustomers(ctx, after, in.Limit)
		if err != nil {
			return nil, a.explain(ctx, err)
		}
		out := &customersOut{}
		out.Body.Items = make([]Customer, len(list))
		for i, c := range list {
			out.Body.Items[i] = Customer{c.ID, c.Name, c.Firm, c.PhoneE164, c.Email, c.Address, string(c.Tongue)}
			if c.PhoneE164 == "" {
				out.Body.Items[i].Phone = c.Phone
			}
		}
		if more {
			out.Body.Next = cursor("customers", strconv.FormatInt(list[len(list)-1].ID, 10))
		}
		return out, nil
	})
}
