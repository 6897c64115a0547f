package api

import (
	"context"
	"encoding/base64"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
)

// Docket is one watch's stay in the shop.
type Docket struct {
	Number     string     `json:"number" example:"26-00021-G" doc:"with its check character"`
	Stage      string     `json:"stage" enum:"intake,diagnosis,estimate,parts,service,regulation,final-test,ready,handed-over,declined,withdrawn"`
	Open       bool       `json:"open" doc:"the watch is still in the shop's keeping"`
	WaitsFor   string     `json:"waits_for,omitempty" doc:"in a few words, of a watch in the shop"`
	ReceivedOn string     `json:"received_on" format:"date"`
	PromisedOn string     `json:"promised_on,omitempty" format:"date"`
	StageSince time.Time  `json:"stage_since"`
	LeftAt     *time.Time `json:"left_at,omitempty"`
	Bench      string     `json:"bench,omitempty" doc:"who has it in hand"`
	ComebackOf string     `json:"comeback_of,omitempty" doc:"number of the docket that it returns from under warranty"`
	Version    int64      `json:"version" doc:"raised with every entry of its journal"`
	CustomerID *int64     `json:"customer_id,omitempty" doc:"only for a token that may read customers"`
	Watch      Watch      `json:"watch"`
	Page       string     `json:"page" format:"uri" doc:"where people of the shop read it"`
}

// Watch is the watch of a docket.
type Watch struct {
	ID        int64  `json:"id"`
	Maker     string `json:"maker"`
	Model     string `json:"model,omitempty"`
	Reference string `json:"reference,omitempty"`
	Serial    string `json:"serial,omitempty"`
	Calibre   string `json:"calibre,omitempty"`
}

// Paging says where a page of a list begins, and how long it is.
type Paging struct {
	Cursor string `query:"cursor" maxLength:"200" doc:"what the page before gave as next"`
	Limit  int    `query:"limit" minimum:"1" maximum:"200" default:"50"`
}

type docketsIn struct {
	Paging
	Keeping string `query:"keeping" enum:"open,closed,all" default:"open" doc:"those whose watch the shop keeps, those whose watch has left, or both"`
	Stage   string `query:"stage" enum:"intake,diagnosis,estimate,parts,service,regulation,final-test,ready,handed-over,declined,withdrawn"`
}

type docketsOut struct {
	Body struct {
		Items []Docket `json:"items" nullable:"false"`
		Next  string   `json:"next,omitempty" doc:"the cursor of the page that follows"`
	}
}

// NumberIn is a docket in an address.
type NumberIn struct {
	Number string `path:"number" maxLength:"20" example:"26-00021-G"`
}

type docketOut struct{ Body Docket }

func (a *API) readDockets() {
	huma.Register(a.huma, operation(http.MethodGet, "/dockets", "list-dockets", "Dockets, oldest first", token.Dockets, http.StatusBadRequest),
		func(ctx context.Context, in *docketsIn) (*docketsOut, error) {
			after, err := in.afterID("dockets")
			if err != nil {
				return nil, err
			}
			list, more, err := a.store.ProgramDockets(ctx, store.ProgramFilter{Keeping: store.Keeping(in.Keeping), Stage: docket.Stage(in.Stage),
				After: after, Limit: in.Limit})
			if err != nil {
				return nil, a.explain(ctx, err)
			}
			out := &docketsOut{}
			out.Body.Items = make([]Docket, len(list))
			for i, d := range list {
				out.Body.Items[i] = a.docket(ctx, d)
			}
			if more {
				out.Body.Next = cursor("dockets", strconv.FormatInt(list[len(list)-1].ID, 10))
			}
			return out, nil
		})
	huma.Register(a.huma, operation(http.MethodGet, "/dockets/{number}", "get-docket", "One docket", token.Dockets, http.StatusNotFound),
		func(ctx context.Context, in *NumberIn) (*docketOut, error) {
			n, err := in.number()
			if err != nil {
				return nil, err
			}
			d, err := a.store.ProgramDocket(ctx, n)
			if err != nil {
				return nil, a.explain(ctx, err)
			}
			return &docketOut{a.docket(ctx, d)}, nil
		})
}

func (in NumberIn) number() (docket.Number, error) {
	n, err := docket.ParseNumber(in.Number)
	if err != nil {
		return n, huma.Error404NotFound("There is no docket with this number: " + err.Error() + ".")
	}
	return n, nil
}

func (a *API) docket(ctx context.Context, p store.ProgramDocket) Docket {
	d := p.Docket
	out := Docket{Number: d.Number.String(), Stage: string(d.Stage), Open: d.HandedBackAt.IsZero(), ReceivedOn: civil(d.ReceivedOn),
		PromisedOn: civil(d.PromisedOn), StageSince: p.MovedAt, Bench: p.Bench, ComebackOf: p.ComebackOf, Version: d.Version,
		Watch: Watch{p.WatchID, p.Maker, p.Model, p.Reference, p.Serial, p.Calibre},
		Page:  a.host.PublicURL + "/dockets/" + d.Number.String()}
	if out.Open {
		out.WaitsFor = p.WaitsFor()
	} else {
		out.LeftAt = &d.HandedBackAt
	}
	if programOf(ctx).Token.Has(token.Customers) {
		out.CustomerID = &p.CustomerID
	}
	return out
}

// civil writes a civil day, "" for none.
func civil(day time.Time) string {
	if day.IsZero() {
		return ""
	}
	return day.Format(time.DateOnly)
}

// cursor says where a list goes on: opaque to whoever reads it.
func cursor(list, after string) string {
	return base64.RawURLEncoding.EncodeToString([]byte(list + " " + after))
}

// after reads a cursor of a list, "" for its beginning.
func (p Paging) after(list string) (string, error) {
	if p.Cursor == "" {
		return "", nil
	}
	b, err := base64.RawURLEncoding.DecodeString(p.Cursor)
	of, after, ok := strings.Cut(string(b), " ")
	if err != nil || !ok || of != list {
		return "", errCursor
	}
	return after, nil
}

var errCursor = huma.Error400BadRequest("This cursor is not of this list: begin again without one.")

func (p Paging) afterID(list string) (int64, error) {
	after, err := p.after(list)
	if after == "" || err != nil {
		return 0, err
	}
	id, err := strconv.ParseInt(after, 10, 64)
	if err != nil || id < 0 {
		return 0, errCursor
	}
	return id, nil
}
