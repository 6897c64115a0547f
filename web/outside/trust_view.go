package outside

// trustPlatform is how the devices of one kind are told to trust a local authority, and how that is undone.
type trustPlatform struct {
	Name, ID string
	Steps    []string
	Undo     string
}

// trustView is the page on which a device fetches the shop's local authority.
type trustView struct {
	Name        string // the authority's, under which devices list it
	Fingerprint string // SHA-256
	Until       string
	Download    string // address of the certificate
	Secure      string // address of the program itself
	Meaning     []string
	Platforms   []trustPlatform
}
