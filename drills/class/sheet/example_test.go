package sheet_test

import (
	"fmt"

	"slowneedle/audio/source"
	"slowneedle/drills/class/sheet"
)

// A teacher makes a sheet and writes its code on the whiteboard; a learner types
// it as it comes.
func Example() {
	s := sheet.New(4711)
	s.Families = []source.Family{source.Voice, source.Struck}
	s.Level, s.Time, s.Cover = 6, 45, 8
	code, err := s.Code()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(code), "characters with the spaces")

	typed, err := sheet.ParseCode("4gah-6aw7-py0m")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(typed.Drill, typed.Rounds, "rounds, step", typed.Level)

	_, err = sheet.ParseCode("4GAH 6AW7 PY0C")
	fmt.Println(err)
	// Output:
	// 19 characters with the spaces
	// take 10 rounds, step 1
	// class code: there is a typing error; look at character 4 of group 3 first
}
