package unit

// With writes a number's text with the text of its unit: "820 m"; a plain number
// stands alone.
func With(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}
