package persons

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) exportRoutes() []page.Route {
	return []page.Route{
		page.Get("/customers/{id}/everything.zip", page.Needs(staff.ExportCustomers), s.export),
	}
}

func exportURL(id int64) string { return sheet.CustomerURL(id) + "/everything.zip" }

// export sends everything about a customer as one archive, docket by docket, so that it takes no more memory than the
// biggest docket. What breaks on the way breaks the download, so that nobody takes half for the whole.
func (s *Room) export(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	p, err := s.store.ExportPerson(r.Context(), id, page.Actor(r), s.Now())
	if err != nil {
		return err
	}
	name := fmt.Sprintf("customer-%d-%s.zip", id, s.Today(r).Format(time.DateOnly))
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	a := &archive{Room: s, Archive: page.NewArchive(w, s.Now()), r: r}
	if err := a.write(p); err != nil {
		if r.Context().Err() == nil {
			s.Log.Error("export of a customer broke off", "customer", id, "error", err)
		}
		panic(http.ErrAbortHandler)
	}
	return nil
}

// archive is an export while it is written.
type archive struct {
	*Room
	*page.Archive
	r *http.Request
}

func (a *archive) write(p store.PersonExport) error {
	if err := a.Bytes("README.txt", []byte(exportReadme)); err != nil {
		return err
	}
	if err := a.json("fields.json", fieldsOf(p.Fields)); err != nil {
		return err
	}
	if err := a.json("person.json", p.Rows); err != nil {
		return err
	}
	for _, n := range p.Dockets {
		if err := a.docket(n); err != nil {
			return err
		}
	}
	return a.Close()
}

func (a *archive) docket(n docket.Number) error {
	x, err := a.store.ExportDocket(a.r.Context(), n)
	if err != nil {
		return err
	}
	folder := "dockets/" + n.String() + "/"
	if err := a.json(folder+"record.json", x.Rows); err != nil {
		return err
	}
	if err := a.json(folder+"journal.json", linesOf(x.Journal)); err != nil {
		return err
	}
	for _, f := range x.Photos {
		picture, err := a.Uploads.Open(f.Sum, files.Full)
		if err := a.Kept(fmt.Sprintf("%sphotographs/%d.jpg", folder, f.ID), picture, err); err != nil {
			return err
		}
	}
	for _, f := range x.ParcelPhotos {
		picture, err := a.Uploads.Open(f.Sum, files.Full)
		if err := a.Kept(fmt.Sprintf("%sparcel/%d.jpg", folder, f.ID), picture, err); err != nil {
			return err
		}
	}
	for _, f := range x.Sounds {
		sound, err := a.Uploads.OpenSound(f.Sum)
		if err := a.Kept(fmt.Sprintf("%ssounds/%d.%s", folder, f.ID, strings.ToLower(f.Format)), sound, err); err != nil {
			return err
		}
	}
	return a.papersOf(n, folder, x.Revisions)
}

// paperNames are the papers of a docket by the end of their addresses; estimates come by their revisions.
var paperNames = []string{"claim-ticket", "invoice", "receipt", "warranty-card", "bulletin", "trial", "loan-slip", "notice"}

func (a *archive) papersOf(n docket.Number, folder string, revisions []int) error {
	names := slices.Clone(paperNames)
	for _, v := range revisions {
		names = append(names, fmt.Sprintf("estimate/%d", v))
	}
	for _, name := range names {
		pdf, ok, err := a.papers(a.r, view.DocketURL(n.String(), "papers/"+name+".pdf"))
		switch {
		case err != nil:
			a.Absent(folder+"papers/"+name+".pdf", "could not be made")
			a.Log.Error("paper for an export", "docket", n.String(), "paper", name, "error", err)
		case ok:
			if err := a.Bytes(folder+"papers/"+strings.ReplaceAll(name, "/", "-")+".pdf", pdf); err != nil {
				return err
			}
		}
	}
	return nil
}

func (a *archive) json(name string, v any) error {
	if rows, ok := v.(store.Rows); ok { // tables without rows say nothing
		rows = maps.Clone(rows)
		maps.DeleteFunc(rows, func(_ string, list []json.RawMessage) bool { return len(list) == 0 })
		v = rows
	}
	raw, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	return a.Bytes(name, append(raw, '\n'))
}

// field is one column of an exported table.
type field struct {
	Type  string `json:"type"`
	Means string `json:"means,omitempty"`
}

func fieldsOf(tables map[string]map[string]store.Field) map[string]map[string]field {
	out := map[string]map[string]field{}
	for table, columns := range tables {
		out[table] = map[string]field{}
		for name, f := range columns {
			out[table][name] = field(f)
		}
	}
	return out
}

// line is an entry of a journal.
type line struct {
	Seq     int64           `json:"seq"`
	At      time.Time       `json:"at"`
	By      string          `json:"by"`
	Kind    docket.Kind     `json:"kind"`
	Summary string          `json:"summary"`
	Why     string          `json:"why,omitempty"`
	Facts   json.RawMessage `json:"facts,omitempty"`
}

func linesOf(journal []store.JournalLine) []line {
	out := make([]line, len(journal))
	for i, l := range journal {
		out[i] = line(l)
	}
	return out
}

const exportReadme = `Everything that the shop keeps about one customer.

person.json          the customer's record, records that were merged into it, and the watches
dockets/NUMBER/      one folder for each stay of a watch in the shop:
  record.json        what was handed in, found, agreed, fitted, measured, paid and handed out, by table of the record
  journal.json       what happened, in order, with the day, the hour and who did it
  papers/            claim ticket, estimates, invoice, receipt, measuring bulletin, warranty card, loan slip and the newest notice to
                     collect, as they were made
  photographs/       pictures, named by their number in record.json
  parcel/            pictures of the parcel in which the watch came
  sounds/            recordings of the watch, named by the number of the reading in record.json
fields.json          what each field of the tables is, and its unit where the name does not say it
NOT-INCLUDED.txt     only where something could not be had: what, and why

Times are UTC, as 2026-11-24T09:30:00+00:00. Days have no time: 2026-11-24. Money is in whole minor units of the currency
named beside it: 12345 with EUR is 123.45 euros. Rates are seconds a day, amplitudes degrees, beat errors milliseconds.
JSON files are UTF-8 (RFC 8259). Numbers that end in _by or _id name people of the shop and other rows.
`
