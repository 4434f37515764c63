package main

import (
	"fmt"
	"log"
	"path/filepath"
	"strings"
)

// voices joins prompts to passages of ten seconds and more. Each is measured as
// it comes and through sox's limiter driven by 6 dB, as a voice is commonly
// limited ahead of a recorder or a transmitter.
func voices() {
	prompts := func(sound, pkg, folder, ext string, names ...string) {
		at, _ := filepath.Glob(folder)
		if len(at) != 1 {
			log.Fatalf("no folder %s", folder)
		}
		pause := temp("pause")
		run("sox", filepath.Join(at[0], names[0]+ext), pause, "trim", "0", "0.4", "vol", "0")
		args := []string{}
		for _, n := range names {
			args = append(args, filepath.Join(at[0], n+ext), pause)
		}
		out := temp(sound)
		run("sox", append(args, "-e", "signed", "-b", "16", out)...)
		measure(row{family: "voice", sound: sound, packages: versions(pkg), made: strings.Join(names, " + ")}, out)
		limited := temp(sound + " limited")
		run("sox", out, "-b", "32", "-e", "float", limited, "gain", "-n", "-1", "gain", "-l", "6")
		measure(row{family: "voice", sound: sound + ", limited", packages: versions(pkg),
			made: strings.Join(names, " + ") + "; sox gain -n -1 gain -l 6"}, limited)
	}
	lists := [][]string{
		{"demo-instruct"}, {"demo-congrats"}, {"demo-echotest"}, {"demo-abouttotry"}, {"demo-moreinfo", "demo-thanks"},
		{"vm-options"}, {"vm-msginstruct"}, {"dir-intro"}, {"demo-nogo", "demo-enterkeywords"},
		{"vm-review", "vm-instructions"}, {"vm-newuser", "vm-intro"},
		{"agent-alreadyon", "vm-invalid-password", "vm-rec-temp"},
	}
	for _, l := range []struct{ speaker, code, pkg, ext string }{
		{"first speaker", "en_US", "asterisk-core-sounds-en-wav", ".wav"},
		{"second speaker", "es_MX", "asterisk-core-sounds-es-gsm", ".gsm"},
		{"third speaker", "fr_CA", "asterisk-core-sounds-fr-gsm", ".gsm"},
		{"fourth speaker", "it_IT", "asterisk-core-sounds-it-gsm", ".gsm"},
		{"fifth speaker", "ru_RU", "asterisk-core-sounds-ru-gsm", ".gsm"},
	} {
		for i, names := range lists {
			prompts(fmt.Sprintf("%s, prompt %d", l.speaker, i+1), l.pkg, "/usr/share/asterisk/sounds/"+l.code+"_*", l.ext, names...)
		}
	}
	const at, pkg = "/usr/share/sounds/alsa", "alsa-utils"
	prompts("studio prompts front", pkg, at, ".wav", "Front_Center", "Front_Left", "Front_Right", "Front_Center", "Front_Left")
	prompts("studio prompts rear", pkg, at, ".wav", "Rear_Center", "Rear_Left", "Rear_Right", "Rear_Center", "Rear_Right")
	prompts("studio prompts side", pkg, at, ".wav", "Side_Left", "Side_Right", "Side_Left", "Side_Right", "Side_Left", "Side_Right")
}
