package words

// SystemErrors are the system's errors that words may be put to, by their codes.
func SystemErrors() map[string]string {
	all := map[string]string{}
	for _, known := range systemSays {
		all[known.code] = known.err.Error()
	}
	return all
}
