package web

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/notices"
)

// Anyone may read what the program is made of: the licences ask that their texts go with it.
func TestLicencesAreForEveryone(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	stranger := s.stranger()
	if foot := stranger.get("/w").want(http.StatusOK).body; !strings.Contains(foot, `href="/licences"`) {
		t.Error("no page's foot leads to the licences")
	}
	list := stranger.get("/licences").want(http.StatusOK).body
	for _, n := range notices.All() {
		if !strings.Contains(list, `href="/licences/`+n.Slug()+`"`) || !strings.Contains(list, n.Licences) {
			t.Errorf("%s is not in the list", n.Name)
		}
		if got := stranger.get("/licences/" + n.Slug()).want(http.StatusOK); got.body != n.Text {
			t.Errorf("%s: %d bytes of text, want %d", n.Name, len(got.body), len(n.Text))
		}
	}
	stranger.get("/licences/hairspring").want(http.StatusNotFound)
}
