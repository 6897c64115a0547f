package hearing

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"github.com/coder/websocket"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/bench/hearing/listening"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
)

// listener is who listens to what the address names.
func (s *Room) listener(r *http.Request) (listening.Owner, error) {
	v, _ := page.ViewerOf(r.Context())
	owner := listening.Owner{StaffID: v.Member.ID}
	if strings.HasPrefix(r.URL.Path, "/dockets/") {
		n, err := page.PathNumber(r)
		if err != nil {
			return owner, err
		}
		owner.Docket = n.String()
	}
	return owner, nil
}

// listenSocket opens the line over which a page sends what its microphone hears. Only a page of this very site may: a
// browser always says where a page comes from when it opens such a line, and no cookie rule guards it otherwise.
func (s *Room) listenSocket(w http.ResponseWriter, r *http.Request) error {
	if !strings.EqualFold(r.Header.Get("Upgrade"), "websocket") {
		w.Header().Set("Upgrade", "websocket")
		http.Error(w, "only a page that listens opens this", http.StatusUpgradeRequired)
		return nil
	}
	owner, err := s.listener(r)
	if err != nil {
		return err
	}
	if !s.ownOrigin(r) {
		return page.ErrForbidden
	}
	if owner.Docket != "" {
		if _, err := runs.Read(r, s.store); err != nil {
			return err
		}
	}
	conn, err := websocket.Accept(w, r, &websocket.AcceptOptions{CompressionMode: websocket.CompressionDisabled,
		InsecureSkipVerify: true}) // ownOrigin has verified it, more strictly
	if err != nil {
		return nil // Accept has answered
	}
	// The request's own context ends with the handler only; the line's reading and writing have their own limits.
	ctx := context.WithoutCancel(r.Context())
	if err := listening.Serve(ctx, conn, s.hub, owner, s.chooser(r)); err != nil {
		s.Log.Info("listening ended", "id", page.RequestIDOf(ctx), "error", err)
	}
	return nil
}

// ownOrigin reports whether the request comes from a page of this site: from the address it was sent to, or, behind a
// proxy that changes that, from the public one.
func (s *Room) ownOrigin(r *http.Request) bool {
	origin, err := url.Parse(r.Header.Get("Origin"))
	if err != nil || origin.Host == "" {
		return false
	}
	public, err := url.Parse(s.PublicURL)
	return strings.EqualFold(origin.Host, r.Host) || err == nil && strings.EqualFold(origin.Scheme+"://"+origin.Host,
		public.Scheme+"://"+public.Host)
}

// chooser checks each start anew: who may have lost the right since, and what the docket's runs and limits are now.
func (s *Room) chooser(r *http.Request) listening.Choose {
	return func(ctx context.Context, fields map[string]string) (listening.Begin, map[string]string, error) {
		was, _ := page.ViewerOf(r.Context())
		v, err := s.store.Viewer(ctx, was.Member.ID, was.Session.ID)
		if err != nil {
			s.Log.Error("listening", "error", err)
			return listening.Begin{}, map[string]string{"": "The records can't be reached. Wait a moment and start again."}, nil
		}
		if v.Member.Disabled || !v.Session.Live || !staff.Can(v.Member.Role, staff.TakeReadings) {
			return listening.Begin{}, nil, page.ErrForbidden
		}
		r := r.WithContext(page.WithViewer(ctx, v))
		b, err := s.subjectOf(r)
		if err != nil {
			s.Log.Error("listening", "error", err)
			return listening.Begin{}, map[string]string{"": "The records can't be reached. Wait a moment and start again."}, nil
		}
		f := page.EmptyForm()
		for name, text := range fields {
			f.Values.Set(name, text)
		}
		begin := s.listenTo(r, b, f)
		return begin, f.Problems, nil
	}
}
