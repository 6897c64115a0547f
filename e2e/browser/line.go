package browser

import (
	"context"
	"errors"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// EndSession drops the window's cookies, as if the session had ended.
func (t *Tab) EndSession() error {
	_, err := chromedp.Call(t.ctx, network.ClearBrowserCookies, struct{}{})
	return err
}

// conditions of a line, as older Chromiums are told of them; newer ones know rules only.
type conditions struct {
	Offline            bool    `json:"offline"`
	LatencyMS          float64 `json:"latency"`
	DownloadThroughput float64 `json:"downloadThroughput"`
	UploadThroughput   float64 `json:"uploadThroughput"`
}

var setConditions = cdp.Command[conditions, struct{}]{Method: "Network.emulateNetworkConditions"}

// BreakLine cuts the window off from the program, and joins it again.
func (t *Tab) BreakLine(broken bool) error {
	_, old := chromedp.Call(t.ctx, setConditions,
		conditions{Offline: broken, DownloadThroughput: -1, UploadThroughput: -1})
	if old == nil {
		return nil
	}
	rules := []*network.Conditions{}
	if broken {
		rules = append(rules, &network.Conditions{Offline: true, DownloadThroughput: -1, UploadThroughput: -1})
	}
	if _, err := chromedp.Call(t.ctx, network.EmulateNetworkConditionsByRule,
		network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: rules}); err != nil {
		return errors.Join(old, err)
	}
	return nil
}

// Slow has the page's own work take so many times as long, as on a poor or busy machine; Chromium alone.
func (t *Tab) Slow(times float64) error {
	return t.do(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: times})
		return err
	})
}
