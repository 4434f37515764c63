//go:build !js

package practice

import (
	"os"
	"testing"

	"slowneedle/drills/testfiles"
)

func TestMain(m *testing.M) { os.Exit(testfiles.InOwnFolders(m)) }
