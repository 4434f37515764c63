package handin

import (
	"strings"
	"unicode"

	"slowneedle/audio/said"
)

// Limits of a name.
const (
	MaxWho   = 40 // characters, as a reader counts them
	maxMarks = 4  // accents and other marks on one character
)

const (
	nonJoiner = '\u200c'
	joiner    = '\u200d'
)

// TidyWho brings a name to its one form: composed characters (Unicode
// Normalization Form C), no variation selectors, no spaces at the ends and no
// more than one inside.
func TidyWho(who string) string {
	who = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Variation_Selector, r) {
			return -1
		}
		return r
	}, who)
	return normal("NFC", strings.Join(strings.Fields(who), " "))
}

// CheckWho returns what is wrong with a name: it must be as TidyWho has it, with 1
// to MaxWho printable characters. Characters that cannot be seen are refused, so
// that two names that look alike are alike; a joiner may stand between two
// letters or two pictures, where some scripts need it.
func CheckWho(who string) error {
	n := 0 // letters: marks, joiners and tones of skin belong to the one before
	for _, r := range who {
		if tone := r >= 0x1f3fb && r <= 0x1f3ff; !tone && !unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
			n++
		}
	}
	switch {
	case n == 0:
		return said.Errorf("who.missing", "a name or alias is missing")
	case n > MaxWho || len(who) > 8*MaxWho:
		return said.Errorf("who.long", "the name has %d characters; at most %d are taken", max(n, len(who)/8), MaxWho)
	case !visible(who):
		return said.Errorf("who.unprintable", "the name holds a character that cannot be printed")
	case mixed(who):
		return said.Errorf("who.mixed", "a word of the name mixes Latin, Greek or Cyrillic letters; write it in one of them")
	case tooManyMarks(who):
		return said.Errorf("who.marks", "the name has more than %d marks on one character", maxMarks)
	case who != TidyWho(who):
		return said.Errorf("who.space", "the name has a space too many")
	case !strings.ContainsFunc(who, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsNumber(r) || pictured(r) }):
		return said.Errorf("who.letter", "the name needs a letter or a number")
	}
	return nil
}

// visible reports whether every character of a text is printable and seen, but
// for joiners where they do something.
func visible(text string) bool {
	runes := []rune(text)
	for i, r := range runes {
		switch {
		case r == joiner || r == nonJoiner:
			if i == 0 || i+1 == len(runes) || !joins(runes[i-1], runes[i+1]) {
				return false
			}
		case !unicode.IsPrint(r) || unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r) || unicode.Is(unicode.Variation_Selector, r):
			return false
		case r == unicode.ReplacementChar || r == '\u2800': // a blank of Braille
			return false
		}
	}
	return true
}

// joins reports whether a joiner between two characters may change what is seen:
// between letters of a script that has joined forms, their marks included, and
// between pictures.
func joins(before, after rune) bool {
	letters := unicode.In(before, joined...) && unicode.In(after, joined...)
	return letters || pictured(before) && pictured(after)
}

// joined are the scripts in which joiners are part of the spelling (Unicode
// Standard Annex 31, section 2.3, and the Arabic and Indic chapters of the
// Unicode Standard).
var joined = []*unicode.RangeTable{unicode.Arabic, unicode.Syriac, unicode.Mongolian, unicode.Nko, unicode.Devanagari,
	unicode.Bengali, unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu, unicode.Kannada,
	unicode.Malayalam, unicode.Sinhala, unicode.Khmer, unicode.Myanmar}

// pictured reports whether a character is a picture or changes the look of one.
func pictured(r rune) bool {
	return unicode.Is(unicode.So, r) || unicode.Is(unicode.Sk, r) && r > 0x1f000
}

// mixed reports whether a word of a name has letters of two of the scripts whose
// letters look alike (Unicode Technical Standard 39, section 5.2).
func mixed(who string) bool {
	for word := range strings.FieldsSeq(who) {
		scripts := 0
		for _, script := range []*unicode.RangeTable{unicode.Latin, unicode.Greek, unicode.Cyrillic} {
			if strings.ContainsFunc(word, func(r rune) bool { return unicode.Is(script, r) }) {
				scripts++
			}
		}
		if scripts > 1 {
			return true
		}
	}
	return false
}

func tooManyMarks(text string) bool {
	n := 0
	for _, r := range normal("NFD", text) {
		if n++; !unicode.Is(unicode.M, r) {
			n = 0
		}
		if n > maxMarks {
			return true
		}
	}
	return false
}

// Skeleton returns a form in which two names that look alike are the same: in
// one case and width, without joiners, and with letters that look like Latin
// ones, and figures that look like letters, in place of each other. It is for
// comparing, not for showing.
func Skeleton(who string) string {
	who = strings.ToLower(normal("NFKC", strings.ToUpper(TidyWho(who))))
	who = strings.ReplaceAll(who, "ß", "ss")
	return normal("NFC", strings.Map(func(r rune) rune {
		if r == joiner || r == nonJoiner {
			return -1
		}
		if same, ok := lookalikes[r]; ok {
			return same
		}
		return r
	}, who))
}

// lookalikes are the letters and figures, in small, that look like Latin letters
// in small or in capitals: those of the list of confusable characters of Unicode
// Technical Standard 39 that a keyboard for Cyrillic or Greek has, from memory.
var lookalikes = func() map[rune]rune {
	m := make(map[rune]rune)
	for latin, others := range map[rune]string{
		'a': "аα", 'b': "вβ", 'c': "сϲ", 'd': "ԁ", 'e': "еε", 'h': "нһη", 'i': "іι", 'j': "ј", 'k': "кκ", 'l': "1|ӏ", 'm': "мμ",
		'n': "ν", 'o': "0оο", 'p': "рρ", 'q': "ԛ", 's': "ѕ", 't': "тτ", 'w': "ԝ", 'x': "хχ", 'y': "уυγ", 'z': "ζ",
	} {
		for _, r := range others {
			m[r] = latin
		}
	}
	m['i'] = 'l' // I and l
	return m
}()
