package browser

import (
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// EndSession drops the window's cookies, as if the session had ended.
func (t *Tab) EndSession() error {
	_, err := chromedp.Call(t.ctx, network.ClearBrowserCookies, struct{}{})
	return err
}

// BreakLine cuts the window off from the program, and joins it again.
func (t *Tab) BreakLine(broken bool) error {
	var rules []*network.Conditions
	if broken {
		rules = []*network.Conditions{{Offline: true, DownloadThroughput: -1, UploadThroughput: -1}}
	}
	_, err := chromedp.Call(t.ctx, network.EmulateNetworkConditionsByRule,
		network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: append([]*network.Conditions{}, rules...)})
	return err
}
