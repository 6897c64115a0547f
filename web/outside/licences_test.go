package outside_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/notices"
	"ledgerwheel/web/webtest"
)

// Anyone may read what the program is made of: the licences ask that their texts go with it.
func TestLicencesAreForEveryone(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	stranger := s.Stranger()
	if foot := stranger.Get("/w").Want(http.StatusOK).Body; !strings.Contains(foot, `href="/licences"`) {
		t.Error("no page's foot leads to the licences")
	}
	list := stranger.Get("/licences").Want(http.StatusOK).Body
	for _, n := range notices.All() {
		if !strings.Contains(list, `href="/licences/`+n.Slug()+`"`) || !strings.Contains(list, n.Licences) {
			t.Errorf("%s is not in the list", n.Name)
		}
		if got := stranger.Get("/licences/" + n.Slug()).Want(http.StatusOK); got.Body != n.Text {
			t.Errorf("%s: %d bytes of text, want %d", n.Name, len(got.Body), len(n.Text))
		}
	}
	stranger.Get("/licences/hairspring").Want(http.StatusNotFound)
}
