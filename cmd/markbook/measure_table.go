package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
	"time"
	"unicode/utf8"

	"slowneedle/audio/measure"
)

// writeMeasuredTable prints a table for people: levels to a tenth of a decibel, which is as fine as anybody hears.
// A level that does not exist, as that of silence, is a dash; files that failed are left out.
func writeMeasuredTable(out io.Writer, files []measured) error {
	width := utf8.RuneCountInString("file")
	var any bool
	for _, f := range files {
		if f.err == nil {
			width = max(width, utf8.RuneCountInString(f.File))
			any = true
		}
	}
	if !any {
		return nil
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	row := func(file string, cells ...string) {
		pad := strings.Repeat(" ", width-utf8.RuneCountInString(file))
		fmt.Fprintf(t, "%s%s\t%s\t\n", file, pad, strings.Join(cells, "\t"))
	}
	row("", "", "reading", "needle", "sample", "true", "under-", "", "whole", "400 ms", "3 s", "lamp", "clipped")
	row("file", "length", "VU", "max VU", "dBFS", "dBTP", "read dB", "RMS dB", "LUFS", "LUFS", "LUFS", "flicks", "samples")
	for _, f := range files {
		if f.err != nil {
			continue
		}
		row(f.File, length(f.Duration),
			signed(f.Reading), signed(f.NeedleMax), plain(f.SamplePeak), plain(f.TruePeak), plain(f.UnderRead), plain(f.RMS),
			plain(f.Integrated), plain(f.MomentaryMax), plain(f.ShortTermMax),
			fmt.Sprint(f.LampFlicks), fmt.Sprint(f.Clipped))
	}
	return t.Flush()
}

// length writes a duration as 1:02:03, 2:03 or, below a minute, as 3.4 s.
func length(seconds float64) string {
	d := time.Duration(math.Round(seconds)) * time.Second
	h, m, s := int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%.1f s", seconds)
	case h == 0:
		return fmt.Sprintf("%d:%02d", m, s)
	}
	return fmt.Sprintf("%d:%02d:%02d", h, m, s)
}

func plain(l measure.Level) string { return decibels(l, "%.1f") }

// signed marks levels above the reference, as the scale of a needle does.
func signed(l measure.Level) string { return decibels(l, "%+.1f") }

func decibels(l measure.Level, format string) string {
	if !l.Exists() {
		return "-"
	}
	tenths := math.Round(float64(l)*10) / 10
	if tenths == 0 {
		return "0.0" // without a sign
	}
	return fmt.Sprintf(format, tenths)
}
