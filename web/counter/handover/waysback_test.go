package handover_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// The form that gives money back offers a clerk the ways by which it came, each with up to how much, and the owner the others too.
func TestMoneyIsOfferedBackByTheWayItCame(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.As(l.Clerk).Post(l.Path+"/hand-over/payment", l.PayForm("30", "card")).Want(http.StatusSeeOther)
	page := l.As(l.Clerk).Get(l.Path + "/hand-over").Want(http.StatusOK)
	offered := webtest.TextOf(page.One("fold-refund"))
	if !strings.Contains(offered, "up to €30.00") || strings.Contains(offered, "Cash") {
		t.Errorf("a clerk is offered %q", offered)
	}
	offered = webtest.TextOf(l.As(l.Owner).Get(l.Path + "/hand-over").Want(http.StatusOK).One("fold-refund"))
	if !strings.Contains(offered, "up to €30.00") || !strings.Contains(offered, "None came this way") {
		t.Errorf("the owner is offered %q", offered)
	}
}
