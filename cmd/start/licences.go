package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// linked is a command that is built, and with what.
type linked struct {
	env     []string
	command string
}

var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|copyright|notice|patents|third_party)`)

// addLicences gathers the licences of every module whose code is linked into
// the commands, and of Go itself: all files so named in the module's folder and
// in those of the linked packages. A module without any is an error.
func (a archive) addLicences(builds ...linked) error {
	found := map[string]string{} // files by where they stand in the package
	modules := map[string]bool{"go": true}
	for _, b := range builds {
		list, err := linkedPackages(b)
		if err != nil {
			return err
		}
		for _, p := range list {
			name := p.Module.Path + "@" + p.Module.Version
			modules[name] = true
			for dir := p.Dir; ; dir = filepath.Dir(dir) {
				n, err := licencesIn(found, dir, p.Module.Dir, name)
				if err != nil {
					return err
				}
				if dir == p.Module.Dir {
					if n == 0 {
						return fmt.Errorf("module %s has no licence file; it cannot be handed out", name)
					}
					break
				}
				if len(dir) <= len(p.Module.Dir) {
					return fmt.Errorf("%s is outside its module %s", p.Dir, p.Module.Dir)
				}
			}
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return fmt.Errorf("asking go for its folder: %w", err)
	}
	if err := licencesOfGo(found, string(trimmed(root))); err != nil {
		return err
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

// licencesOfGo adds the licence files of Go itself.
func licencesOfGo(found map[string]string, root string) error {
	n, err := licencesIn(found, root, root, "go")
	if err == nil && n == 0 {
		err = fmt.Errorf("no licence file in Go's own folder %s, so the programs cannot be handed out; install Go with its licence", root)
	}
	return err
}

// licencesIn adds the licence files of a folder of a module.
func licencesIn(found map[string]string, dir, module, name string) (n int, err error) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return 0, fmt.Errorf("looking for the licence of %s: %w", name, err)
	}
	for _, f := range list {
		if !licenceName.MatchString(f.Name()) || strings.HasSuffix(f.Name(), ".go") {
			continue
		}
		err := filepath.WalkDir(filepath.Join(dir, f.Name()), func(file string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			inside, err := filepath.Rel(module, file)
			found[name+"/"+filepath.ToSlash(inside)] = file
			n++
			return err
		})
		if err != nil {
			return 0, fmt.Errorf("looking for the licence of %s: %w", name, err)
		}
	}
	return n, nil
}

// linkedPackage is what go list prints of a package that another module brings.
type linkedPackage struct {
	ImportPath string
	Dir        string
	Module     *struct {
		Path, Version, Dir string
		Main               bool
	}
}

func linkedPackages(b linked) ([]linkedPackage, error) {
	c := exec.Command("go", "list", "-deps", "-json=ImportPath,Dir,Module", b.command)
	c.Env = append(os.Environ(), b.env...)
	c.Stderr = os.Stderr
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("listing what is linked: %w", err)
	}
	var list []linkedPackage
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p linkedPackage
		err := d.Decode(&p)
		if errors.Is(err, io.EOF) {
			return list, nil
		}
		if err != nil {
			return nil, fmt.Errorf("reading what go list prints: %w", err)
		}
		if p.Module != nil && !p.Module.Main {
			list = append(list, p)
		}
	}
}
