package handin

import "syscall/js"

// normal returns a text in a Unicode normalization form: NFC, NFD or NFKC. The
// browser has the tables, which would be a fiftieth of what is loaded.
func normal(form, text string) string {
	return js.Global().Get("String").Get("prototype").Get("normalize").Call("call", text, form).String()
}
