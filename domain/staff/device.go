package staff

import "strings"

// What browsers say of themselves (RFC 9110, section 10.1.5) names others too, for old servers' sake: the first that
// fits is meant. The order is common practice, from memory.
var (
	browserMarks = [][2]string{{"Firefox/", "Firefox"}, {"FxiOS/", "Firefox"}, {"Edg", "Edge"}, {"OPR/", "Opera"},
		{"SamsungBrowser/", "Samsung Internet"}, {"CriOS/", "Chrome"}, {"Chrome/", "Chrome"}, {"Safari/", "Safari"}}
	systemMarks = [][2]string{{"iPhone", "an iPhone"}, {"iPad", "an iPad"}, {"Android", "Android"}, {"CrOS", "ChromeOS"},
		{"Windows", "Windows"}, {"Mac OS X", "a Mac"}, {"Linux", "Linux"}}
)

// DeviceWords says in plain terms which browser on which system a user agent is, such as "Firefox on Windows".
func DeviceWords(userAgent string) string {
	browser, system := firstMark(userAgent, browserMarks), firstMark(userAgent, systemMarks)
	switch {
	case browser == "" && system == "":
		return "an unknown device"
	case browser == "":
		return "a browser on " + system
	case system == "":
		return browser
	}
	return browser + " on " + system
}

func firstMark(said string, marks [][2]string) string {
	for _, m := range marks {
		if strings.Contains(said, m[0]) {
			return m[1]
		}
	}
	return ""
}
