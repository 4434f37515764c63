package main

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|copyright|notice|patents|third_party)`)

// built is a command for a system.
type built struct {
	target
	command string
}

// addLicences gathers the licences of every module whose code is linked into
// the commands, and of Go itself: all files so named in the module's folder and
// in those of the linked packages. A module without any is an error.
func (a archive) addLicences(commands ...built) error {
	root, err := output("go", "env", "GOROOT")
	if err != nil {
		return err
	}
	found := map[string]string{} // files by their place in the package
	modules := map[string]bool{"go": true}
	if err := licences(found, "go", root, root); err != nil {
		return err
	}
	for _, b := range commands {
		c := exec.Command("go", "list", "-deps", "-f",
			"{{with .Module}}{{if not .Main}}{{.Path}}@{{.Version}}\t{{.Dir}}\t{{$.Dir}}{{end}}{{end}}", b.command)
		c.Env = append(os.Environ(), b.env(b.command)...)
		c.Stderr = os.Stderr
		list, err := c.Output()
		if err != nil {
			return fmt.Errorf("listing what is linked: %w", err)
		}
		for line := range strings.Lines(string(list)) {
			f := strings.Split(strings.TrimSpace(line), "\t")
			modules[f[0]] = true
			if err := licences(found, f[0], f[1], f[2]); err != nil {
				return err
			}
		}
	}
	about := "The programs are built with Go and contain code of these modules.\nTheir licences stand in the folders of the same names.\n\n" +
		strings.Join(slices.Sorted(maps.Keys(modules)), "\n") + "\n"
	if err := a.add("licences/MODULES.txt", plainFile, []byte(about)); err != nil {
		return err
	}
	for name, file := range found {
		if err := a.addFile("licences/"+name, plainFile, file); err != nil {
			return err
		}
	}
	return nil
}

// licences adds the licence files in a folder of a module and in those above it, up to
// the module's own, which must have one.
func licences(found map[string]string, module, root, dir string) error {
	any := false
	list, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("looking for the licence of %s: %w", module, err)
	}
	for _, f := range list {
		if !licenceName.MatchString(f.Name()) || strings.HasSuffix(f.Name(), ".go") {
			continue
		}
		err := filepath.WalkDir(filepath.Join(dir, f.Name()), func(file string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			inside, err := filepath.Rel(root, file)
			found[module+"/"+filepath.ToSlash(inside)], any = file, true
			return err
		})
		if err != nil {
			return fmt.Errorf("looking for the licence of %s: %w", module, err)
		}
	}
	switch {
	case len(dir) > len(root):
		return licences(found, module, root, filepath.Dir(dir))
	case !any:
		return fmt.Errorf("there is no licence file of %s in %s, so the programs cannot be handed out", module, root)
	}
	return nil
}
