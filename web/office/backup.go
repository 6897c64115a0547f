package office

import (
	"fmt"
	"net/http"

	"ledgerwheel/domain/backup"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

func (s *Room) backupRoutes() []page.Route {
	return []page.Route{page.Get("/backup", page.Needs(staff.ManageSettings), s.showBackups)}
}

// showBackups says how far the backups can be relied on, and what is to be done about it.
func (s *Room) showBackups(w http.ResponseWriter, r *http.Request) error {
	known, err := s.store.Backups(r.Context(), s.Now())
	if err != nil {
		return err
	}
	v := backupsView{Standing: s.standing(known.LastProven), Nightly: s.keeping.Nightly, Demo: s.Demo}
	for _, b := range known.Kept {
		v.Kept = append(v.Kept, s.backupLine(r, b))
	}
	for _, b := range known.Failed {
		v.Failed = append(v.Failed, s.backupLine(r, b))
	}
	return page.Render(w, r, http.StatusOK, backupsPage(s.Page(r, "Backups"), v))
}

func (s *Room) standing(last store.BackupRun) standingView {
	words, alarming := backup.Standing(last.At, s.Now())
	return standingView{Words: words, Alarming: alarming, Place: last.Place}
}

func (s *Room) backupLine(r *http.Request, b store.BackupRun) backupLine {
	line := backupLine{Made: s.Moment(r, b.At), Place: b.Place, Encrypted: b.Encrypted, Proof: b.Proof, Failed: text.Sentence(b.Failed)}
	if b.Failed == "" {
		line.Failed = ""
	}
	if b.Bytes > 0 {
		line.Size = fmt.Sprintf("%.1f MB", float64(b.Bytes)/1e6)
	}
	if !b.ProvenAt.IsZero() {
		line.Proven = s.Moment(r, b.ProvenAt)
	}
	return line
}
