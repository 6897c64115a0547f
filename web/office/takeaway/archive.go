package takeaway

import (
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// archive is the record while it is written.
type archive struct {
	*Room
	r *http.Request
	*page.Archive
	from *store.Takeaway
	with []string
}

func (a *archive) write() error {
	for _, part := range []func() error{a.readme, a.dictionary, a.tables, a.journals, a.seals, a.papersOfAll, a.kept} {
		if err := part(); err != nil {
			return err
		}
	}
	return a.Close()
}

func (a *archive) readme() error { return a.Bytes("README.txt", []byte(readme)) }

// dictionary says of each table and column what it is.
func (a *archive) dictionary() error {
	to, err := a.Create("dictionary.csv")
	if err != nil {
		return err
	}
	rows := csv.NewWriter(to)
	_ = rows.Write([]string{"table", "column", "type", "means"}) // Flush tells
	for _, t := range a.from.Tables {
		_ = rows.Write([]string{t.Name, "", "", t.Means})
		for _, c := range t.Columns {
			_ = rows.Write([]string{t.Name, c.Name, c.Type, c.Means})
		}
	}
	rows.Flush()
	return rows.Error()
}

func (a *archive) tables() error {
	for _, t := range a.from.Tables {
		to, err := a.Create("tables/" + t.Name + ".csv")
		if err == nil {
			err = a.from.CSV(a.r.Context(), t, to)
		}
		if err != nil {
			return err
		}
		if to, err = a.Create("tables/" + t.Name + ".jsonl"); err == nil {
			err = a.from.JSON(a.r.Context(), t, to)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// line is an entry of a journal.
type line struct {
	DocketID int64           `json:"docket_id"`
	Seq      int64           `json:"seq"`
	At       time.Time       `json:"at"`
	By       string          `json:"by"`
	Kind     string          `json:"kind"`
	Summary  string          `json:"summary"`
	Why      string          `json:"why,omitempty"`
	Facts    json.RawMessage `json:"facts,omitempty"`
}

func (a *archive) journals() error {
	to, err := a.Create("journals.jsonl")
	if err != nil {
		return err
	}
	out := json.NewEncoder(to)
	out.SetEscapeHTML(false)
	return a.from.Journal(a.r.Context(), func(id int64, l store.JournalLine) error {
		return out.Encode(line{id, l.Seq, l.At, l.By, string(l.Kind), l.Summary, l.Why, l.Facts})
	})
}

func (a *archive) seals() error {
	return a.from.Seals(a.r.Context(), func(size int64, at time.Time, note string) error {
		return a.Bytes("seals/"+at.Format("20060102T150405Z")+"-"+strconv.FormatInt(size, 10)+".txt", []byte(note))
	})
}

// paperNames are the papers of a docket by the end of their addresses; estimates come by their revisions.
var paperNames = []string{"claim-ticket", "invoice", "receipt", "warranty-card", "bulletin", "trial", "loan-slip", "notice"}

const docketsAtOnce = 200

func (a *archive) papersOfAll() error {
	if !slices.Contains(a.with, withPapers) {
		return nil
	}
	for last := int64(0); ; {
		list, err := a.from.DocketsAfter(a.r.Context(), last, docketsAtOnce)
		if err != nil || len(list) == 0 {
			return err
		}
		for _, d := range list {
			if err := a.papersOf(d); err != nil {
				return err
			}
			last = d.ID
		}
	}
}

func (a *archive) papersOf(d store.TakenDocket) error {
	names := slices.Clone(paperNames)
	for _, n := range d.Revisions {
		names = append(names, "estimate/"+strconv.Itoa(n))
	}
	for _, name := range names {
		if err := a.r.Context().Err(); err != nil {
			return err
		}
		file := "papers/" + d.Number + "/" + strings.ReplaceAll(name, "/", "-") + ".pdf"
		pdf, ok, err := a.papers(a.r, view.DocketURL(d.Number, "papers/"+name+".pdf"))
		switch {
		case err != nil:
			a.Absent(file, "could not be made")
			a.Log.Error("paper to take away", "docket", d.Number, "paper", name, "error", err)
		case ok:
			if err := a.Bytes(file, pdf); err != nil {
				return err
			}
		}
	}
	return nil
}

// kept are the photographs and sounds, named by their sums as the tables have them.
func (a *archive) kept() error {
	pictures, sounds, err := a.from.Files(a.r.Context())
	if err != nil {
		return err
	}
	if slices.Contains(a.with, withPictures) {
		for _, f := range pictures {
			picture, err := a.Uploads.Open(f.Sum, files.Full)
			if err := a.Kept("photographs/"+hex.EncodeToString(f.Sum[:])+".jpg", picture, err); err != nil {
				return err
			}
		}
	}
	if slices.Contains(a.with, withSounds) {
		for _, f := range sounds {
			sound, err := a.Uploads.OpenSound(f.Sum)
			if err := a.Kept("sounds/"+hex.EncodeToString(f.Sum[:])+"."+strings.ToLower(f.Format), sound, err); err != nil {
				return err
			}
		}
	}
	return nil
}

const readme = `The whole record of the shop, as it stood at one moment.

dictionary.csv       what each table and column is, with its type and, where the name does not say it, its unit
tables/NAME.csv      every table: comma-separated, UTF-8, the first line names the columns; an empty field without quotation
                     marks has no value, lists stand in braces, bytes as \x and hexadecimal
tables/NAME.jsonl    the same, one JSON object a line
journals.jsonl       what happened, in order, by docket (docket_id as in tables/docket); docket 0 is the shop's own journal
seals/               signed checkpoints of the log of all entries (C2SP tlog-checkpoint)
papers/NUMBER/       the papers of each docket, as PDF, where they were asked for
photographs/ sounds/ files that the tables name by their SHA-256, where they were asked for
NOT-INCLUDED.txt     only where something could not be had: what, and why

Times are UTC. Days have no time: 2026-11-24. Money is in whole minor units of the currency named beside it. Rates are seconds
a day, amplitudes degrees, beat errors milliseconds. Left out is what opens something: passwords, keys, secrets of links.
A field that begins with =, + , - or @ may be taken for a formula by a spreadsheet: import columns as text.
This is no backup: only a backup can be restored.
`
