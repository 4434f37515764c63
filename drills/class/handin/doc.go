// Package handin holds one learner's file of takes for a sheet, and checks it.
//
// A hand-in is one JSON object:
//
//	{
//	  "format": "slowneedle hand-in 2",
//	  "id": "9f2c...",           32 hexadecimal digits, drawn when it is begun
//	  "who": "Moonrake",         a name or alias that the learner types
//	  "code": "4GAH 6AW7 PY0M",  the sheet's class code
//	  "sheet": {...},            the sheet, as package sheet has it
//	  "program": "slowneedle 1", what wrote it
//	  "language": "de",          in which it was played; may be left out
//	  "began": "2026-03-03T18:30:00Z", "ended": "2026-03-03T18:41:10Z",
//	  "head_seal": "...",
//	  "takes": [{
//	    "round": 1,              counted from 1; rounds come in order, none left out
//	    "moves": [{"at": 48000, "to": -20.5}, ...],
//	    "lock_at": 624000,       frames at 48 kHz from the start of the round
//	    "number": 6.5,           what a drill asks beyond moves: a called level,
//	    "choice": 1,             or which one, from 0; left out if it asks nothing
//	    "verdict": {...},        drills.Verdict, its sentences left empty; none in an exam
//	    "drawn": {...},          which round of an exam it is, sheet.Drawn
//	    "seal": "..."
//	  }, ...],
//	  "seal": "..."
//	}
//
// The seals are SHA-256 in hexadecimal (FIPS 180-4): head_seal of everything
// above the takes, each take's of the head's seal and the take, the last of all
// the seals before it. So a slip of a disk or an editor is found, and named to
// the take.
//
// # What a check proves, and what not
//
// Check makes the rounds of the sheet again, plays every take's moves against
// them and compares every number of every verdict with the one in the file. A
// verdict that does not follow from its moves is found even where the seals were
// made again, for the seals need no secret: anyone who reads this can make them.
//
// So a clean check proves that these moves on this sheet give these verdicts. It
// does not prove who made the moves, when, on which machine, or that a person
// made them at all: a file of invented moves that lead to the aim checks clean,
// and so does one under another's name. Doubts (moves that are another's, takes
// longer than the time they were made in, a fader that goes to every aim at
// once) are hints to ask, not proof. For marks that matter, stand beside the
// learner.
//
// Of an exam the class server says more (Sitting): each round was given by it when
// the take before had been locked, at a time of its clock, and a take that was locked
// was not changed. That somebody helped, or that a changed program worked a round out
// while it was open, it cannot tell.
package handin

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode"

	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/strict"
	"slowneedle/drills/version"
)

// Format is the first field of every hand-in.
const Format = "slowneedle hand-in 2"

// Limits of a hand-in.
const (
	MaxFile    = 4 << 20 // bytes
	MaxMoves   = 4096    // of one take: a minute of a fader that moves with every frame of a screen
	MaxProgram = 60      // bytes
)

// HandIn is one learner's takes for a sheet, as its file has it.
type HandIn struct {
	Head
	HeadSeal string `json:"head_seal"`
	Takes    []Take `json:"takes"`
	Seal     string `json:"seal"`
}

// Head is what a hand-in has above its takes.
type Head struct {
	Format  string      `json:"format"`
	ID      string      `json:"id"`
	Who     string      `json:"who"`
	Code    string      `json:"code"` // of the sheet, as the file has it
	Sheet   sheet.Sheet `json:"sheet"`
	Program string      `json:"program"`
	// Language is the one in which the learner played, as in "de"; it may be empty.
	Language string    `json:"language,omitempty"`
	Began    time.Time `json:"began"` // to the second
	Ended    time.Time `json:"ended"`
}

// Take is a learner's answer to one round, and what the program said of it.
type Take struct {
	Round int `json:"round"` // from 1
	drills.Take
	Verdict drills.Verdict `json:"verdict,omitzero"`
	Drawn   *sheet.Drawn   `json:"drawn,omitempty"`
	Seal    string         `json:"seal"`
}

// Digest stands for the take as it was played; with it a learner's program locks a
// take of an exam with the class server.
func (t Take) Digest() string {
	t.Round, t.Seal, t.Verdict = 0, "", drills.Verdict{}
	text, err := json.Marshal(t)
	if err != nil { // a number that JSON does not have: no hand-in has it
		return ""
	}
	return sum(string(text))
}

// Program is what this program calls itself in hand-ins: its name and version.
func Program() string {
	name := "slowneedle " + version.String()
	return name[:min(len(name), MaxProgram)]
}

// Begin starts a hand-in: a fresh identity, no takes. program is Program, but
// for tests. The error says what is wrong with the name, or with the sheet.
func Begin(who string, s sheet.Sheet, program string, now time.Time) (*HandIn, error) {
	who = TidyWho(who)
	if err := CheckWho(who); err != nil {
		return nil, err
	}
	s, err := s.Canonical()
	if err != nil {
		return nil, err
	}
	code, err := s.Code()
	if err != nil {
		return nil, err
	}
	var id [16]byte
	rand.Read(id[:])
	at := now.UTC().Truncate(time.Second)
	return &HandIn{Head: Head{Format: Format, ID: hex.EncodeToString(id[:]), Who: who, Code: code, Sheet: s, Program: program, Began: at, Ended: at}}, nil
}

// Add puts the take of the next round behind the others. The error says that
// all rounds have theirs, or what of the take cannot be handed in.
func (h *HandIn) Add(t drills.Take, v drills.Verdict, now time.Time) error {
	return h.add(t, v, nil, now)
}

// AddDrawn is Add for the take of an exam's round, which goes without its verdict.
func (h *HandIn) AddDrawn(t drills.Take, round sheet.Drawn, now time.Time) error {
	return h.add(t, drills.Verdict{}, &round, now)
}

func (h *HandIn) add(t drills.Take, v drills.Verdict, drawn *sheet.Drawn, now time.Time) error {
	if len(h.Takes) >= h.Sheet.Rounds {
		return fmt.Errorf("hand-in: all %d rounds have their take", h.Sheet.Rounds)
	}
	v.Headline, v.Reason = "", ""
	t.Moves = append([]drills.Move{}, t.Moves...)
	take := Take{Round: len(h.Takes) + 1, Take: t, Verdict: v, Drawn: drawn}
	err := take.check(len(h.Takes), h.Sheet.Exam)
	if err == nil && h.Sheet.Exam {
		h.Sheet, err = h.Sheet.With([]sheet.Drawn{*drawn})
	}
	if err != nil {
		return fmt.Errorf("hand-in: %w", err)
	}
	h.Takes = append(h.Takes, take)
	if at := now.UTC().Truncate(time.Second); at.After(h.Ended) {
		h.Ended = at
	}
	return nil
}

// Complete reports whether every round of the sheet has its take.
func (h *HandIn) Complete() bool { return len(h.Takes) == h.Sheet.Rounds }

// File seals the hand-in and gives it as its file.
// The error says that there are no takes yet, or what makes it too large.
func (h *HandIn) File() ([]byte, error) {
	if len(h.Takes) == 0 {
		return nil, errors.New("hand-in: there are no takes in it yet")
	}
	f := *h
	f.Format, f.Takes = Format, slices.Clone(h.Takes)
	headSeal, each, seal, err := f.seals()
	if err != nil {
		return nil, fmt.Errorf("hand-in: %w", err)
	}
	f.HeadSeal, f.Seal = headSeal, seal
	for i := range f.Takes {
		f.Takes[i].Seal = each[i]
	}
	text, err := json.MarshalIndent(f, "", " ")
	if err != nil {
		return nil, fmt.Errorf("hand-in: %w", err)
	}
	if len(text) > MaxFile {
		return nil, said.Errorf("handin.too_large", "hand-in: it has %d bytes; a hand-in has at most %d", len(text), MaxFile)
	}
	return append(text, '\n'), nil
}

// seals returns what the seals of a file should be.
func (h *HandIn) seals() (ofHead string, each []string, all string, err error) {
	text, err := json.Marshal(h.Head)
	if err != nil {
		return "", nil, "", err
	}
	ofHead = sum(string(text))
	if each, err = takeSeals(ofHead, h.Takes); err != nil {
		return "", nil, "", err
	}
	return ofHead, each, sum(append([]string{ofHead}, each...)...), nil
}

// takeSeals returns what the seals of takes should be under a head's seal.
func takeSeals(head string, takes []Take) ([]string, error) {
	var list []string
	for _, t := range takes {
		t.Seal = ""
		text, err := json.Marshal(t)
		if err != nil {
			return nil, err
		}
		list = append(list, sum(head, string(text)))
	}
	return list, nil
}

func sum(parts ...string) string {
	s := sha256.Sum256([]byte(strings.Join(parts, "\n")))
	return hex.EncodeToString(s[:])
}

// Read reads a hand-in without judging its takes. The error is one sentence
// that says what is wrong with which field: the file is damaged or is none.
func Read(data []byte) (*HandIn, error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("hand-in: it has more than %d bytes", MaxFile)
	}
	h := new(HandIn)
	var err error
	if !asWritten(data, h) {
		*h = HandIn{}
		err = strict.DecodeFormat(data, h, Format)
	}
	if err == nil {
		err = h.check()
	}
	if err != nil {
		return nil, fmt.Errorf("hand-in: %w", err)
	}
	return h, nil
}

// asWritten reads a file that is just as File writes it, but for the space between
// its parts, as nearly all are: written again it is the same, so that strict has
// nothing to find. It reports false if it is not; then h may be half filled.
func asWritten(data []byte, h *HandIn) bool {
	if json.Unmarshal(data, h) != nil {
		return false
	}
	again, err := json.Marshal(h)
	var tight bytes.Buffer
	return err == nil && json.Compact(&tight, data) == nil && bytes.Equal(tight.Bytes(), again)
}

// IsID reports whether a text is the identity of a hand-in.
func IsID(text string) bool { return len(text) == 32 && strings.Trim(text, "0123456789abcdef") == "" }

// check returns an error that names a field that cannot be.
func (h *HandIn) check() error {
	if h.Format != Format {
		return fmt.Errorf("format: it must be %q", Format)
	}
	if !IsID(h.ID) {
		return errors.New("id: it must be 32 hexadecimal digits")
	}
	if err := CheckWho(h.Who); err != nil {
		return fmt.Errorf("who: %w", err)
	}
	if len(h.Program) > MaxProgram || !plain(h.Program) {
		return fmt.Errorf("program: it must be at most %d bytes of plain text", MaxProgram)
	}
	if len(h.Language) > 8 || strings.Trim(h.Language, "abcdefghijklmnopqrstuvwxyz-") != "" {
		return errors.New(`language: it must be one as in "en" or "de"`)
	}
	if h.Sheet.Rounds == 0 {
		return errors.New("sheet: it is missing")
	}
	for _, t := range []struct {
		name string
		at   time.Time
	}{{"began", h.Began}, {"ended", h.Ended}} {
		if y := t.at.Year(); y < 2000 || y > 9999 || !t.at.Equal(t.at.Truncate(time.Second)) || t.at.Location() != time.UTC {
			return fmt.Errorf("%s: it must be a time in UTC to the second, as in 2026-03-03T18:30:00Z", t.name)
		}
	}
	if h.Ended.Before(h.Began) {
		return errors.New("ended: it is before began")
	}
	if len(h.Takes) == 0 {
		return errors.New("takes: there are none")
	}
	if len(h.Takes) > h.Sheet.Rounds {
		return fmt.Errorf("takes: there are %d; the sheet has %d rounds", len(h.Takes), h.Sheet.Rounds)
	}
	var drawn []sheet.Drawn
	for i, t := range h.Takes {
		if err := t.check(i, h.Sheet.Exam); err != nil {
			return err
		}
		if t.Drawn == nil {
			continue
		}
		if slices.ContainsFunc(drawn, func(d sheet.Drawn) bool { return d.Index == t.Drawn.Index }) {
			return fmt.Errorf("takes[%d].drawn: round %d of the exam has a take already", i, t.Drawn.Index+1)
		}
		drawn = append(drawn, *t.Drawn)
	}
	if !h.Sheet.Exam {
		return nil
	}
	var err error
	if h.Sheet, err = h.Sheet.With(drawn); err != nil {
		return fmt.Errorf("drawn: %w", err)
	}
	return nil
}

// Index is which of the sheet's rounds the take is of, from 0.
func (t Take) Index() int {
	if t.Drawn != nil {
		return t.Drawn.Index
	}
	return t.Round - 1
}

// check returns what cannot be in the take at a place, nil if nothing.
func (t Take) check(i int, exam bool) error {
	at := fmt.Sprintf("takes[%d]", i)
	switch {
	case t.Round != i+1:
		return fmt.Errorf("%s.round: it is %d; here it must be %d, rounds come in order", at, t.Round, i+1)
	case len(t.Moves) > MaxMoves:
		return said.Errorf("handin.moves", "%s.moves: there are %d; at most %d are taken", at, len(t.Moves), MaxMoves)
	case t.Verdict.Headline != "" || t.Verdict.Reason != "":
		return fmt.Errorf("%s.verdict: its sentences must be left empty", at)
	case exam != (t.Drawn != nil):
		return fmt.Errorf("%s.drawn: the takes of an exam have it, and no others", at)
	case exam && !reflect.ValueOf(t.Verdict).IsZero():
		return fmt.Errorf("%s.verdict: in an exam it is left out", at)
	}
	return nil
}

// plain reports whether text holds only letters, marks, numbers, punctuation, symbols
// and the plain space.
func plain(text string) bool {
	return !strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) })
}

// FileName is a name for the file that works on every system: the learner's
// letters and digits, the code, part of the identity.
func (h *HandIn) FileName() string {
	return "handin-" + FileStem(h.Who) + "-" + strings.ToLower(strings.ReplaceAll(h.Code, " ", "")) + "-" + h.ID[:8] + ".json"
}

// FileStem is what of a learner's name can stand in the name of a file.
func FileStem(who string) string {
	who = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		case r == ' ':
			return '-'
		}
		return -1
	}, who)
	return cmp.Or(who, "learner")
}
