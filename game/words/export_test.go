package words

// SystemErrors are the codes of the system's errors that words may be put to.
func SystemErrors() []string {
	var all []string
	for _, known := range systemSays {
		all = append(all, known.code)
	}
	return all
}
