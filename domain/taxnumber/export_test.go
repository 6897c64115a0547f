package taxnumber

// Checked reports whether more than the shape of a tidied number is known to be right, by its check digits.
func Checked(n string) bool {
	bare := parted.Replace(n)
	return len(bare) > 2 && rules[bare[:2]].agrees != nil && Problem(n) == ""
}
