package web_test

// addsNothing says of each route that takes a post, and is not sent at once by TestWhatIsSentTwiceIsDoneOnce, why not.
var addsNothing = reasons(
	reason{"sets or removes what is there: sent again it sets the same",
		[]string{
			"/kept/{id}/clear",
			"/dockets/{number}/move",
			"/dockets/{number}/place",
			"/dockets/{number}/bench",
			"/dockets/{number}/intake",
			"/dockets/{number}/intake/condition",
			"/customers/{id}/edit",
			"/customers/{id}/merge",
			"/customers/{id}/erase",
			"/watches/{id}/edit",
			"/dockets/{number}/photos/{id}",
			"/dockets/{number}/photos/{id}/sight",
			"/dockets/{number}/photos/{id}/remove",
			"/dockets/{number}/estimate/discard",
			"/dockets/{number}/link/end",
			"/dockets/{number}/card/void",
			"/dockets/{number}/diagnosis/findings/{id}",
			"/dockets/{number}/diagnosis/findings/{id}/strike",
			"/dockets/{number}/diagnosis/hazards/{hazard}/acknowledge",
			"/dockets/{number}/parts/{id}",
			"/dockets/{number}/parts/{id}/old-part",
			"/dockets/{number}/parts/{id}/payer",
			"/parts",
			"/dockets/{number}/parts/{id}/order",
			"/dockets/{number}/parts/{id}/arrive",
			"/dockets/{number}/parts/{id}/fit",
			"/dockets/{number}/parts/{id}/need",
			"/dockets/{number}/parts/{id}/cancel",
			"/dockets/{number}/service/{id}",
			"/dockets/{number}/regulation/runs/{run}",
			"/dockets/{number}/regulation/judge",
			"/dockets/{number}/poising/{id}",
			"/dockets/{number}/trial/abandon",
			"/listen/heard/{recording}/instants",
			"/listen/heard/{recording}/docket",
			"/listen/heard/{recording}/discard",
			"/dockets/{number}/listen/heard/{heard}/instants",
			"/dockets/{number}/listen/heard/{heard}/discard",
			"/recorders/{id}/describe",
			"/recorders/{id}/retire",
			"/recorders/{id}/use",
			"/recorders/{id}/calibrations/{calibration}/retire",
			"/calibres/{id}",
			"/calibres/{id}/drawings/{drawing}/remove",
			"/staff/{id}/role",
			"/staff/{id}/disable",
			"/staff/{id}/enable",
			"/settings",
			"/watch-list/{id}/remove",
			"/staff/{id}/second-factor/remove",
		}},
	reason{"adds under a version, a number or a name that the first one takes, so that none is added twice",
		[]string{
			"/dockets/{number}/estimate/send",
			"/dockets/{number}/estimate/answer",
			"/dockets/{number}/link",
			"/dockets/{number}/hand-over",
			"/dockets/{number}/hand-over/charge",
			"/dockets/{number}/card",
			"/dockets/{number}/card/reissue",
			"/dockets/{number}/final-test",
			"/rate-limits/new",
			"/rate-limits/{grade}/new",
			"/dockets/{number}/trial/day",
			"/dockets/{number}/trial/end",
			"/dockets/{number}/listen/keep",
			"/dockets/{number}/listen/heard/{heard}/keep",
			"/dockets/{number}/listen/heard/{heard}/run-down",
			"/dockets/{number}/positions",
			"/calibres/file",
			"/calibres/{id}/lift-angle",
			"/keys/rotate",
			"/setup",
			"/join/{secret}",
			"/c/{token}/answer",
		}},
	reason{"is the payment's handler with another sign",
		[]string{
			"/dockets/{number}/hand-over/refund",
		}},
	reason{"sent at once by TestCalibrationSentAtOnceIsOne, or by a page's script that keeps count itself",
		[]string{
			"/recorders/{id}/sound",
			"/listen/clock",
			"/dockets/{number}/listen/clock",
		}},
	reason{"begins a check, of which one runs at a time",
		[]string{
			"/record/check",
		}},
	reason{"works out or shows, and keeps nothing",
		[]string{
			"/dockets/{number}/regulation/preview",
			"/card",
			"/theme",
		}},
	reason{"a session, a password or a factor of one person, in place of the one before",
		[]string{
			"/sign-in",
			"/sign-in/second",
			"/sign-out",
			"/staff/{id}/reset",
			"/account/keys",
			"/account/password",
			"/account/sign-in/sessions/others/end",
			"/account/sign-in/sessions/{session}/end",
			"/account/sign-in/app/begin",
			"/account/sign-in/app",
			"/account/sign-in/app/remove",
			"/account/sign-in/passkey/begin",
			"/account/sign-in/passkey",
			"/account/sign-in/passkeys/{id}/remove",
			"/account/sign-in/recovery",
		}},
)

type reason struct {
	why    string
	routes []string
}

func reasons(all ...reason) map[string]string {
	by := map[string]string{}
	for _, r := range all {
		for _, route := range r.routes {
			by[route] = r.why
		}
	}
	return by
}
