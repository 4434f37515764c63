package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"slowneedle/audio/wavfile"
	"slowneedle/drills/series"
)

// judgeCmd judges what came back of a series from a real desk or recorder.
type judgeCmd struct {
	Answers string   `arg:"" name:"series.answers.json" help:"Answer sheet that markbook render --rounds wrote."`
	Returns []string `arg:"" name:"return.wav" help:"Recordings of the series, one of each learner, or folders of them."`
	Name    string   `placeholder:"WHO" help:"Whose return it is; the file's name without .wav if not given. With one recording."`
	Own     string   `placeholder:"FILE.wav" help:"Recording that the rounds are passages of, if it does not lie beside the answer sheet."`
	Output  string   `short:"o" placeholder:"FILE.html" help:"Also write a page with a strip of needle and peaks for each round. With one recording."`
	JSON    bool     `name:"json" help:"Print one JSON object; of several recordings, or a folder, an array."`
}

// judgedFile is what became of one recording.
type judgedFile struct {
	path   string
	who    string
	judged *series.Judged
	err    error
}

func (c *judgeCmd) Run(s streams) error {
	sheet, err := c.sheet()
	if err != nil {
		return err
	}
	files, several, err := c.files()
	if err != nil {
		return err
	}
	if c.Name != "" && several {
		return usageError{errors.New("--name is for one recording; each of several is its file's")}
	}
	if c.Output != "" && several {
		return usageError{errors.New("--output is for one recording")}
	}
	failed := false
	bar := newBar(s, "judging", len(files))
	for i := range files {
		files[i].judge(sheet)
		failed = failed || files[i].err != nil
		bar.Add(1)
	}
	bar.Finish()
	for _, f := range files {
		if f.err != nil {
			fmt.Fprintln(s.err, "markbook:", f.err)
		}
	}
	if c.Output != "" && !failed {
		err := write(c.Output, func(w io.Writer) error { return files[0].judged.WriteHTML(w, sheet) })
		if err != nil {
			return err
		}
	}
	switch {
	case c.JSON:
		err = printJudgedJSON(s.out, files, several)
	case several:
		err = printClass(s.out, files)
	case !failed:
		err = printJudged(s.out, files[0].judged)
	}
	if err == nil && failed {
		err = errReported
	}
	return err
}

// sheet reads the answer sheet, and finds the recording that it is made of.
func (c *judgeCmd) sheet() (*series.Answers, error) {
	sheet, err := readAs(c.Answers, " is not the answer sheet of a series", 4<<20, series.Parse)
	if err != nil || sheet.Own == nil {
		return sheet, err
	}
	path := c.Own
	if path == "" {
		path = filepath.Join(filepath.Dir(c.Answers), filepath.Base(sheet.Own.File))
	}
	own, err := ownRecording(path)
	if err != nil {
		return nil, fmt.Errorf("the rounds are passages of %s, which is needed too (--own): %w", sheet.Own.File, err)
	}
	if own.SHA256 != sheet.Own.SHA256 {
		return nil, fmt.Errorf("%s is not the recording that the series was made of; its SHA-256 is another", path)
	}
	sheet.Own.Open = own.Open
	return sheet, nil
}

// files lists the recordings, those of folders by name.
func (c *judgeCmd) files() (files []judgedFile, several bool, err error) {
	add := func(path string) {
		who := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
		if c.Name != "" {
			who = c.Name
		}
		files = append(files, judgedFile{path: path, who: who})
	}
	for _, path := range c.Returns {
		info, err := os.Stat(path)
		if err != nil {
			return nil, false, readFault(path, err)
		}
		if !info.IsDir() {
			add(path)
			continue
		}
		several = true
		err = fs.WalkDir(os.DirFS(path), ".", func(inside string, d fs.DirEntry, err error) error {
			if err == nil && d.Type().IsRegular() && isRecording(inside) {
				add(filepath.Join(path, inside))
			}
			return err
		})
		if err != nil {
			return nil, false, readFault(path, err)
		}
	}
	if len(files) == 0 {
		return nil, false, fmt.Errorf("%s: there are no WAV or FLAC files in it; save the returns there", c.Returns[0])
	}
	return files, several || len(files) > 1, nil
}

// judge judges one recording. What opening it says names the file already.
func (f *judgedFile) judge(sheet *series.Answers) {
	r, err := wavfile.Open(f.path)
	if err != nil {
		f.err = err
		return
	}
	defer r.Close()
	if f.judged, err = sheet.Judge(r, nil); err != nil {
		f.err = fmt.Errorf("%s: %w", f.path, err)
		return
	}
	f.judged.File, f.judged.Who = f.path, f.who
}

func printJudgedJSON(w io.Writer, files []judgedFile, several bool) error {
	list := make([]any, len(files))
	for i, f := range files {
		list[i] = f.judged
		if f.err != nil {
			list[i] = newFault(f.path, f.who, f.err)
		}
	}
	if several {
		return printJSON(w, list)
	}
	return printJSON(w, list[0])
}

// printJudged prints the verdicts on one return.
func printJudged(w io.Writer, j *series.Judged) error {
	fmt.Fprintf(w, "%s: tone at %s, %.1f dBFS, %.1f Hz (speed %+.2f %%), distortion %.2g %%.\n",
		j.Who, clock(j.LineUp.StartS), float64(j.LineUp.LevelDBFS), j.LineUp.Hertz, j.SpeedPercent, float64(j.LineUp.DistortionPercent))
	if j.Inverted {
		fmt.Fprintln(w, "The polarity is inverted.")
	}
	if j.OneSide != "" {
		fmt.Fprintf(w, "Only the %s side holds the return.\n", j.OneSide)
	}
	fmt.Fprintln(w)
	t := newTable(w)
	fmt.Fprint(t, "round\tat\tchange dB\taim dB\terror dB\tneedle VU\theadroom dB\tclipped\tnoise dBFS\tsure\tpoints\t  verdict\n")
	for _, r := range j.Rounds {
		at := "-"
		if r.Found {
			at = clock(float64(r.StartS))
		}
		fmt.Fprintf(t, "%d\t%s\t%s\t%+.1f\t%s\t%s\t%s\t%d\t%s\t%.2f\t%d\t  %s\n", r.Number, at, level(r.ChangeDB, "%+.1f"), tenth(r.AimDB),
			level(r.ErrorDB, "%+.1f"), level(r.NeedleVU, "%+.1f"), level(r.HeadroomDB, "%.1f"), r.Clipped,
			level(r.NoiseDBFS, "%.0f"), r.Confidence, r.Points, typed(r.Headline))
	}
	return t.Flush()
}

// printClass prints a line for each return of a class.
func printClass(w io.Writer, files []judgedFile) error {
	t := newTable(w)
	fmt.Fprint(t, "right\tjudged\tmean error dB\tspread dB\tpoints\t  error of each round, dB\t  who\n")
	for _, f := range files {
		if f.err != nil {
			fmt.Fprintf(t, "-\t-\t-\t-\t-\t  not judged\t  %s\n", f.who)
			continue
		}
		sum := f.judged.Sum()
		var each []string
		for _, r := range f.judged.Rounds {
			each = append(each, level(r.ErrorDB, "%+.1f"))
		}
		fmt.Fprintf(t, "%d\t%d\t%s\t%s\t%.0f\t  %s\t  %s\n", sum.Right, sum.Judged, level(sum.BiasDB, "%+.1f"), level(sum.SpreadDB, "%.1f"),
			sum.Points, strings.Join(each, " "), f.who)
	}
	return t.Flush()
}
