package journal

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
)

// Entry is one locked take with all that is needed to play it again. Its JSON
// form is a line of an exported journal.
type Entry struct {
	// ID names the take in every copy of the journal. Left empty, it becomes
	// the first 32 hexadecimal digits of the SHA-256 of when, drill, seed,
	// index, settings and take.
	ID string `json:"id"`
	// When it was locked; kept in UTC and whole milliseconds.
	When   time.Time     `json:"when"`
	Drill  string        `json:"drill"`
	Family source.Family `json:"family,omitempty"`
	Kind   string        `json:"kind,omitempty"`  // of source inside the family
	Level  int           `json:"level,omitempty"` // of the ladder, 0 off it
	// Rig is the rig in its text form ("tape", "digital:reference=-20"), or
	// empty where the drill has none.
	Rig      string          `json:"rig,omitempty"`
	Seed     uint64          `json:"seed,string"` // a string: many programs read numbers only to 2^53
	Index    int             `json:"index"`
	Settings json.RawMessage `json:"settings,omitempty"` // what it was drawn with, drills.Settings
	Take     drills.Take     `json:"take"`
	Verdict  drills.Verdict  `json:"verdict"`
	NoError  bool            `json:"no_error,omitempty"` // the drill has no error in dB
	// ToleranceDB is how large an error still counted as right; 0 is unknown.
	ToleranceDB float64 `json:"tolerance_db,omitempty"`
	// EstimateDB is what the learner thought the error to be, asked before the
	// verdict; nil: they were not asked.
	EstimateDB *float64 `json:"estimate_db,omitempty"`
	Sheet      string   `json:"sheet,omitempty"`   // class code, if it was on a sheet
	Version    string   `json:"version,omitempty"` // of the program
}

// Of makes the entry of an exercise, of the settings it was made with, and of
// what was answered. Sheet and Version are left to the caller.
func Of(ex *drills.Exercise, s drills.Settings, t drills.Take, v drills.Verdict, when time.Time) (Entry, error) {
	settings, err := json.Marshal(s)
	if err != nil {
		return Entry{}, fmt.Errorf("journal: settings of the exercise: %w", err)
	}
	e := Entry{When: when, Drill: ex.Drill.ID, Family: ex.Family, Level: ex.Level, Rig: ex.Rig.String(), Seed: ex.Seed,
		Index: ex.Index, Settings: settings, Take: t, Verdict: v, NoError: ex.Drill.NoError,
		ToleranceDB: ex.Rig.ToleranceDB}
	if len(ex.Channels) > 0 && ex.Channels[0].Sound != nil {
		e.Kind = ex.Channels[0].Sound.Kind
	}
	return e, nil
}

// Mark is what the statistics need of the entry. Rigs count by their medium;
// takes on a sheet are not on the ladder, and those whose settings are reserved for
// test forms belong to one.
func (e Entry) Mark() progress.Mark {
	rig, _, _ := strings.Cut(e.Rig, ":")
	level := e.Level
	if e.Sheet != "" {
		level = 0
	}
	form := ""
	var set drills.Settings
	if json.Unmarshal(e.Settings, &set) == nil && set.Reserved {
		form = e.Sheet
	}
	return progress.Mark{At: e.When, Drill: e.Drill, Family: e.Family, Rig: rig, Level: level,
		ErrorDB: e.Verdict.ErrorDB, ToleranceDB: e.ToleranceDB, NoError: e.NoError, Right: e.Verdict.InWindow, Points: e.Verdict.Points, Form: form,
		Odd: e.Verdict.Odd, OddDB: e.Verdict.OddDB}
}

// Limits of an entry.
const (
	maxText  = 200     // bytes of one text
	maxBody  = 8 << 20 // bytes of JSON of one entry
	maxLevel = 1000
	leastOdd = 0.1 // dB
	mostOdd  = 100.0
)

// encode brings an entry to the form that is kept, names it if it has no name,
// and returns its JSON. The error names the field that is wrong.
func (e *Entry) encode() ([]byte, error) {
	e.When = e.When.UTC().Truncate(time.Millisecond)
	switch y := e.When.Year(); {
	case e.When.IsZero():
		return nil, errors.New("when is missing")
	case y < 1970 || y > 9999:
		return nil, fmt.Errorf("when is in the year %d; it may be 1970 to 9999", y)
	case e.Drill == "":
		return nil, errors.New("drill is missing")
	case e.Level < 0 || e.Level > maxLevel:
		return nil, fmt.Errorf("level %d is out of range; it may be 0 to %d", e.Level, maxLevel)
	case e.Index < 0:
		return nil, fmt.Errorf("index %d is below 0", e.Index)
	case e.Verdict.Points < 0 || e.Verdict.Points > 100:
		return nil, fmt.Errorf("verdict points %d are out of range; they may be 0 to 100", e.Verdict.Points)
	case math.IsNaN(e.Verdict.ErrorDB) || math.Abs(e.Verdict.ErrorDB) > 1000:
		return nil, fmt.Errorf("verdict error_db %v is not a level difference", e.Verdict.ErrorDB)
	case e.Verdict.Odd != "" && !slices.Contains(drills.OddKinds(), e.Verdict.Odd):
		return nil, fmt.Errorf("verdict odd %.30q is unknown; it may be one of %v", e.Verdict.Odd, drills.OddKinds())
	case e.Verdict.Odd != "" && !(math.Abs(e.Verdict.OddDB) >= leastOdd && math.Abs(e.Verdict.OddDB) <= mostOdd):
		return nil, fmt.Errorf("verdict odd_db %v is out of range; it may be %v to %v either way", e.Verdict.OddDB, leastOdd, mostOdd)
	case e.EstimateDB != nil && !(math.Abs(*e.EstimateDB) <= 1000):
		return nil, fmt.Errorf("estimate_db %v is not a level difference", *e.EstimateDB)
	case !(e.ToleranceDB >= 0 && e.ToleranceDB <= 100):
		return nil, fmt.Errorf("tolerance_db %v is out of range; it may be 0 to 100", e.ToleranceDB)
	}
	for _, f := range []struct{ name, text string }{
		{"id", e.ID}, {"drill", e.Drill}, {"family", string(e.Family)}, {"kind", e.Kind},
		{"rig", e.Rig}, {"sheet", e.Sheet}, {"version", e.Version},
	} {
		if len(f.text) > maxText || strings.ContainsFunc(f.text, func(r rune) bool { return r < ' ' || r == '\ufffd' }) {
			return nil, fmt.Errorf("%s must be at most %d bytes of plain text", f.name, maxText)
		}
	}
	if len(e.Settings) > 0 && !json.Valid(e.Settings) {
		return nil, errors.New("settings is not JSON")
	}
	if e.ID == "" {
		answer, err := json.Marshal([]any{e.When, e.Drill, strconv.FormatUint(e.Seed, 10), e.Index, e.Settings, e.Take})
		if err != nil {
			return nil, err
		}
		sum := sha256.Sum256(answer)
		e.ID = hex.EncodeToString(sum[:16])
	}
	body, err := json.Marshal(*e)
	if err != nil {
		return nil, err
	}
	if len(body) > maxBody {
		return nil, said.Errorf("journal.too_large", "it has %d bytes; at most %d are stored", len(body), maxBody)
	}
	return body, nil
}

// pack makes the stored form of an entry's JSON: DEFLATE (RFC 1951).
func pack(body []byte) []byte {
	var b bytes.Buffer
	w := deflaters.Get().(*flate.Writer)
	defer deflaters.Put(w)
	w.Reset(&b)
	w.Write(body)
	w.Close() // a buffer takes everything
	return b.Bytes()
}

// deflaters are kept because each has more than a megabyte of tables.
var deflaters = sync.Pool{New: func() any {
	w, _ := flate.NewWriter(nil, flate.DefaultCompression) // the level is valid
	return w
}}

// row is an entry as it is stored. The mark stands beside the packed entry so
// that statistics need not unpack it.
type row struct {
	n      int64 // place in order, once it is stored
	id     string
	at     int64  // Unix milliseconds
	mark   []byte // JSON of the progress.Mark
	packed []byte
}

// newRow makes the row of an entry. The error tells what is wrong with the entry.
func newRow(e Entry) (row, error) {
	body, err := e.encode()
	if err != nil {
		return row{}, said.Errorf("journal.unfit", "the take cannot be saved: %w", err)
	}
	return e.row(pack(body)), nil
}

// row is the row of an entry that is packed.
func (e Entry) row(packed []byte) row {
	mark, _ := json.Marshal(e.Mark()) // encode has looked at its numbers
	return row{id: e.ID, at: e.When.UnixMilli(), mark: mark, packed: packed}
}

// sum is the CRC-32 of all that is stored but the place.
func (r row) sum() uint32 {
	return crc32.ChecksumIEEE(fmt.Appendf(nil, "%q %d %s %s", r.id, r.at, r.mark, r.packed))
}

// Add stores a take and returns it with its name filled in. When Add returns
// without an error the take is on the disk. A take that is there already, by
// its ID, is left as it is. On an error nothing of the take was stored, and it
// may be added again: ErrReadOnly, ErrFull, or a sentence that tells what is
// wrong with the entry or the file.
func (j *Journal) Add(e Entry) (Entry, error) {
	r, err := newRow(e)
	if err != nil {
		return e, fmt.Errorf("journal: %w", err)
	}
	if _, err := j.addRows([]row{r}, false); err != nil {
		return e, err
	}
	e.ID, e.When = r.id, time.UnixMilli(r.at).UTC()
	return e, nil
}

// unpack returns the entry of a packed form, or errDamaged.
func unpack(id string, packed []byte) (e Entry, err error) {
	body, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(packed)), maxBody+1))
	if err == nil {
		err = json.Unmarshal(body, &e)
	}
	if err != nil {
		return Entry{}, fmt.Errorf("take %q: %w: %w", id, errDamaged, err)
	}
	return e, nil
}

// errDamaged is the cause of errors about stored bytes that are not what was
// stored.
var errDamaged = said.Errorf("journal.damaged", "stored bytes are damaged")
