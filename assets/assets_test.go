package assets

import "testing"

func TestEveryLanguageLoads(t *testing.T) {
	all := Languages()
	if len(all) == 0 {
		t.Fatal("no language at all")
	}
	for _, l := range all {
		w, err := Load(l)
		if err != nil {
			t.Error(err)
			continue
		}
		if w.Get("language.name") == "language.name" {
			t.Errorf("%s.json does not say how the language calls itself", l)
		}
	}
	if _, err := Load("xx"); err == nil {
		t.Error("a language without a file loads")
	}
	if got := (Words{}).Get("a.gap"); got != "a.gap" {
		t.Errorf("a gap shows as %q, want its key", got)
	}
}

func TestIcon(t *testing.T) {
	img, err := Icon()
	if err != nil {
		t.Fatal(err)
	}
	if b := img.Bounds(); b.Dx() != 256 || b.Dy() != 256 {
		t.Errorf("the icon measures %v, want 256 by 256", b)
	}
}
