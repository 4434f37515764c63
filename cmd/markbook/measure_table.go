package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"slowneedle/audio/measure"
)

// writeMeasuredTable prints a table for people: levels to a tenth of a decibel, which is as fine as anybody
// hears. A level that does not exist, as that of silence, is a dash; files that failed are left out.
func writeMeasuredTable(out io.Writer, files []measured) error {
	rows := [][]string{
		{"", "", "reading", "needle", "sample", "true", "under-", "", "", "integr.", "moment.", "short-t.", "lamp", "clipped"},
		{"file", "length", "VU", "max VU", "dBFS", "dBTP", "read dB", "RMS dBFS", "DC %", "LUFS", "LUFS", "LUFS", "flashes", "samples"},
	}
	heads := len(rows)
	for _, f := range files {
		if f.err != nil {
			continue
		}
		rows = append(rows, []string{
			f.File, length(f.Duration),
			signed(f.Reading), signed(f.NeedleMax), plain(f.SamplePeak), plain(f.TruePeak), plain(f.UnderRead), plain(f.RMS), plain(f.DC),
			plain(f.Integrated), plain(f.MomentaryMax), plain(f.ShortTermMax),
			fmt.Sprint(f.LampFlicks), fmt.Sprint(f.Clipped),
		})
	}
	if len(rows) == heads {
		return nil
	}
	_, err := io.WriteString(out, align(rows))
	return err
}

// align sets rows of equal length in columns two spaces apart, the first to the left, the others to the right.
func align(rows [][]string) string {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	var b strings.Builder
	for _, row := range rows {
		for i, cell := range row {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
			if i == 0 {
				b.WriteString(cell + pad)
			} else {
				b.WriteString("  " + pad + cell)
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// length writes a duration as 1:02:03, 2:03, 3.4 s or 56 ms.
func length(seconds float64) string {
	d := time.Duration(math.Round(seconds)) * time.Second
	h, m, s := int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60
	switch {
	case seconds < 1:
		return fmt.Sprintf("%.0f ms", seconds*1000)
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
