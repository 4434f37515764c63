package given

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"slowneedle/audio/said"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/series"
	"slowneedle/game/page"
	"slowneedle/game/words"
)

// LookForReturn judges a return among files that were given together by the answers of the
// series: those among them, beside it, or known from before. It tells every few percent
// how far the judging is. Without a return the answers are those that were given alone; if
// both are nil, there is neither.
func LookForReturn(files []*File, known *series.Answers, tell func(name string, percent int)) (judged *series.Judged, by *series.Answers, err error) {
	var sheet *File
	for _, f := range files {
		if f.Kind() == Answers {
			sheet = f
		}
	}
	together := sheet != nil
	for _, f := range files {
		if sheet == nil {
			sheet = f.sheetBeside()
		}
	}
	if sheet != nil {
		answers, err := sheet.answers()
		if err != nil && together {
			return nil, nil, err
		}
		if err == nil {
			known = answers
		}
	}
	if known == nil {
		return nil, nil, nil
	}
	back := slices.IndexFunc(files, func(f *File) bool {
		made := known.Own != nil && f.Name == known.Own.File // from it
		return f.Kind() == Recording && !made
	})
	switch {
	case back < 0 && together:
		return nil, known, nil
	case back < 0:
		return nil, nil, nil
	}
	if known.Own != nil && known.Own.Open == nil {
		open, err := findOwn(known.Own, files, sheet)
		if err != nil {
			return nil, nil, err
		}
		// A copy: answers that were given before may be in use for another return.
		found, own := *known, *known.Own
		own.Open, found.Own = open, &own
		known = &found
	}
	judged, err = files[back].judge(known, tell)
	if words.IsFault(err, "return.tone") && !together { // a recording of another kind
		return nil, nil, nil
	}
	return judged, known, err
}

// sheetBeside is the answer sheet in a recording's folder: that of its name or, if
// there is none, the only one.
func (f *File) sheetBeside() *File {
	const ending = ".answers.json"
	if f.Path == "" {
		return nil
	}
	dir, own := filepath.Split(f.Path)
	own = strings.TrimSuffix(own, filepath.Ext(own)) + ending
	var found []string
	list, _ := os.ReadDir(dir)
	for _, e := range list {
		if e.Name() == own {
			return At(filepath.Join(dir, own))[0]
		}
		if strings.HasSuffix(e.Name(), ending) {
			found = append(found, e.Name())
		}
	}
	if len(found) == 1 {
		return At(filepath.Join(dir, found[0]))[0]
	}
	return nil
}

// answers reads an answer sheet.
func (f *File) answers() (*series.Answers, error) {
	data, err := f.read(8 << 20)
	if err != nil {
		return nil, err
	}
	a, err := series.Parse(data)
	return a, f.named(err)
}

// findOwn finds the recording that the rounds of a series are passages of, among
// files given together or beside the sheet, and returns what opens it.
func findOwn(own *series.Own, files []*File, sheet *File) (open func() (*wavfile.Reader, error), err error) {
	if sheet != nil && sheet.Path != "" {
		files = append(files, At(filepath.Join(filepath.Dir(sheet.Path), filepath.Base(own.File)))...)
	}
	for _, f := range files {
		if f.Name != own.File {
			continue
		}
		in, err := f.open()
		if err != nil {
			continue
		}
		sum := sha256.New()
		_, err = io.Copy(sum, in)
		shut(in)
		if err != nil || hex.EncodeToString(sum.Sum(nil)) != own.SHA256 {
			return nil, said.Errorf("desk.own_other", "%s is not the recording that the series was made of", own.File)
		}
		return f.Sound, nil
	}
	return nil, said.Errorf("desk.own", "the rounds are passages of %s; drop that recording together with the return and the answer sheet", own.File)
}

// judge judges what came back of a series, and tells every few percent how far it is.
func (f *File) judge(a *series.Answers, tell func(name string, percent int)) (*series.Judged, error) {
	w, err := f.Sound()
	if err != nil {
		return nil, err
	}
	defer w.Close()
	told, pause := 0, page.Pauser()
	j, err := a.Judge(w, func(share float64) {
		if percent := int(100 * share); percent >= told+5 {
			told = percent
			tell(f.Name, percent)
		}
		if pause != nil {
			pause()
		}
	})
	if err != nil {
		return nil, f.named(err)
	}
	j.File, j.Who = f.Name, strings.TrimSuffix(f.Name, filepath.Ext(f.Name))
	return j, nil
}
