//go:build !js

package handin

import "golang.org/x/text/unicode/norm"

// normal returns a text in a Unicode normalization form: NFC, NFD or NFKC.
func normal(form, text string) string {
	switch form {
	case "NFD":
		return norm.NFD.String(text)
	case "NFKC":
		return norm.NFKC.String(text)
	}
	return norm.NFC.String(text)
}
