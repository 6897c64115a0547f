package browser

import "github.com/chromedp/chromedp"

// Hearing has Chromium take a WAV file as its microphone, over and over, and give it to pages without asking. Its path
// must be absolute and its samples 16-bit at 44 100 a second: with other files Chromium is silent, or not in time.
func Hearing(wav string) []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", wav),
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
	}
}
