package main

import (
	"fmt"
	"strings"

	"slowneedle/assets"
	"slowneedle/game/words"
)

// speech is what pages say in a language.
func speech(language string) (*words.Speech, error) {
	w, err := assets.Load(language)
	if err != nil {
		return nil, usageError{fmt.Errorf("--language=%s: there is no such language; use one of %s", language, strings.Join(assets.Languages(), ", "))}
	}
	return &words.Speech{Words: w}, nil
}

// english is what commands say.
func english() *words.Speech {
	s, err := speech("en")
	if err != nil {
		panic(err) // it is part of the program
	}
	return s
}
