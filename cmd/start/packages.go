package main

import (
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
)

// packagesToBuild are the Debian packages that building the window takes:
// a C compiler, and the headers of ALSA, X11 and OpenGL.
func packagesToBuild() []string {
	return []string{
		"gcc", "libc6-dev", "pkg-config",
		"libasound2-dev",
		"libx11-dev", "libxcursor-dev", "libxi-dev", "libxinerama-dev", "libxrandr-dev", "libxxf86vm-dev",
		"libgl1-mesa-dev",
	}
}

// packagesToTest are those that the tests take on top: a display and a sound
// device that are not there, hands for them, and the reference programs.
func packagesToTest() []string {
	list := packagesToBuild()
	// The browser edition is played in a browser. Where one came another way,
	// as on systems that have no such package, it serves as well.
	if _, err := exec.LookPath("chromium-browser"); err != nil {
		list = append(list, "chromium")
	}
	if _, err := exec.LookPath("npm"); err != nil {
		list = append(list, "npm") // for pageChecker
	}
	return append(list,
		"xvfb", "libgl1-mesa-dri", "xdotool", "imagemagick",
		"pulseaudio", "pulseaudio-utils", "libasound2-plugins",
		"sox", "ffmpeg", "libebur128-dev", "groff-base",
		// Recordings to measure: voices, prompts, and a drum kit's hits.
		"alsa-utils", "asterisk-core-sounds-en-wav", "hydrogen-data",
	)
}

// installMissing makes sure that Debian packages are there, by installing what is
// missing or by saying how. Systems outside the Debian family are left alone:
// the build tells what it misses, and the README names it.
func installMissing(packages []string) error {
	if runtime.GOOS != "linux" {
		return nil
	}
	if _, err := exec.LookPath("dpkg-query"); err != nil {
		return nil
	}
	missing := missingFrom(packages)
	if len(missing) == 0 {
		return nil
	}
	apt := aptCommand(os.Geteuid() == 0, sudoWithoutPassword)
	if apt == nil {
		return fmt.Errorf("this machine lacks packages; install them with:\n  sudo apt-get update && sudo apt-get install -y --no-install-recommends %s", strings.Join(missing, " "))
	}
	fmt.Println("start: installing the packages", strings.Join(missing, " "))
	for _, args := range [][]string{
		{"update", "-qq"},
		append([]string{"install", "-y", "-qq", "--no-install-recommends"}, missing...),
	} {
		line := slices.Concat(apt, args)
		if err := showWith([]string{"DEBIAN_FRONTEND=noninteractive"}, line[0], line[1:]...); err != nil {
			return fmt.Errorf("%s failed (%w); see its message above, then run this again", strings.Join(line[:len(apt)+1], " "), err)
		}
	}
	if still := missingFrom(missing); len(still) > 0 {
		return fmt.Errorf("apt-get finished, but these are still missing: %s", strings.Join(still, " "))
	}
	return nil
}

// pageChecker is the npm package by which the tests check pages for what keeps
// people out. It stays beside the code and is part of nothing that is released.
const pageChecker = "axe-core@4.14.1"

// installPageChecker installs it where it is missing.
func installPageChecker() error {
	if _, err := os.Stat("node_modules/axe-core/axe.min.js"); err == nil {
		return nil
	}
	fmt.Println("start: installing", pageChecker)
	if err := show("npm", "install", "--prefix", ".", "--no-save", "--no-package-lock", "--no-audit", "--no-fund", pageChecker); err != nil {
		return fmt.Errorf("npm could not install %s (%w); see its message above, then run this again", pageChecker, err)
	}
	return nil
}

// missingFrom returns the packages that dpkg does not know as installed. One that
// another stands in for counts when dpkg knows it under its own name only, which holds
// for all that are listed.
func missingFrom(packages []string) []string {
	// It fails if it does not know one, and lists the others all the same.
	known, _ := exec.Command("dpkg-query", append([]string{"-W", "-f", "${Package} ${db:Status-Status}\n"}, packages...)...).Output()
	return slices.DeleteFunc(slices.Clone(packages), func(p string) bool {
		return strings.Contains("\n"+string(known), "\n"+p+" installed\n")
	})
}

// aptCommand is how apt-get may be called here, or nil if it may not.
func aptCommand(root bool, sudo func() bool) []string {
	switch {
	case root:
		return []string{"apt-get"}
	case sudo():
		return []string{"sudo", "-n", "apt-get"}
	}
	return nil
}

func sudoWithoutPassword() bool { return exec.Command("sudo", "-n", "true").Run() == nil }
