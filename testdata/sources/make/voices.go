package main

import (
	"log"
	"os"
	"path/filepath"
	"sort"

	"slowneedle/audio"
	"slowneedle/audio/wavfile"
)

// voices measures prompts, a studio's sentences and diphone voices. What is
// raw is measured through sox's limiter driven by 6 dB too, as a voice is
// commonly limited ahead of a recorder or a transmitter.
func voices() {
	for _, s := range []struct {
		speaker, folder, lang, ext string
		second                     int64 // bytes
	}{
		{"first speaker", "en_US", "en", "wav", 16000}, {"second speaker", "es_MX", "es", "gsm", 1650}, {"third speaker", "fr_CA", "fr", "gsm", 1650},
		{"fourth speaker", "it_IT", "it", "gsm", 1650}, {"fifth speaker", "ru_RU", "ru", "gsm", 1650},
	} {
		folder := "/usr/share/asterisk/sounds/" + s.folder + "_*/"
		x := longest(folder+"*."+s.ext, 5*s.second)
		r := recording{"voice", s.speaker + ", prompts", "raw", "telephone band, 8 kHz; one speaker", versions("asterisk-core-sounds-" + s.lang + "-" + s.ext), "prompts of 5 s and more"}
		measure(r, x, 12)
		grow(r, x)
		r.sound, r.state, r.made = r.sound+", limited", "finished", r.made+"; sox gain -n -1 gain -l 6"
		measure(r, limited(x), 12)
		measure(recording{"voice", s.speaker + ", wide prompts", "finished", "16 kHz, lossy, peaks levelled; one speaker",
			versions("asterisk-core-sounds-" + s.lang + "-g722"), "prompts of 5 s and more"}, longest(folder+"*.g722", 5*8000), 12)
	}
	for _, s := range []struct {
		speaker, files, pkg string
		bytes               int64
	}{
		{"sixth speaker", "it_IT_f_*/*.wav", "asterisk-prompt-it-menardi-wav", 3 * 16000}, {"seventh speaker", "fr/*.gsm", "asterisk-prompt-fr-armelle", 3 * 1650},
		{"eighth speaker", "es/*.gsm", "asterisk-prompt-es-co", 3 * 1650},
	} {
		grow(recording{family: "voice", sound: s.speaker + ", prompts", worth: "telephone band, 8 kHz; one speaker, prompts of 3 s and more", packages: versions(s.pkg)},
			longest("/usr/share/asterisk/sounds/"+s.files, s.bytes))
	}
	studio := recording{"voice", "studio sentences", "finished", "16 kHz, peaks cut off; one speaker", versions("festvox-ru"), "sentences of 8 s and more"}
	x := longest("/usr/share/festival/voices/russian/msu_*_clunits/wav/*.wav", 8*32000)
	measure(studio, x, 12)
	grow(studio, x)
	measure(recording{"voice", "studio prompts", "finished", "48 kHz; one speaker, two words at a time", versions("alsa-utils"), "all prompts"},
		longest("/usr/share/sounds/alsa/[FRS]*.wav", 0), 2)
	for _, v := range []struct{ voice, pkg, text string }{
		{"kal_diphone", "festvox-kallpc16k", english}, {"ked_diphone", "festvox-kdlpc16k", english},
		{"lp_diphone", "festvox-italp16k", italian}, {"pc_diphone", "festvox-itapc16k", italian},
		{"czech_ph", "festvox-czech-ph", czech}, {"czech_dita", "festvox-czech-dita", czech}, {"czech_machac", "festvox-czech-machac", czech},
		{"suo_fi_lj_diphone", "festvox-suopuhe-lj", finnish}, {"hy_fi_mv_diphone", "festvox-suopuhe-mv", finnish},
	} {
		text, out := filepath.Join(dir, "text"), temp("spoken")
		if err := os.WriteFile(text, []byte(v.text+" "+v.text), 0o644); err != nil {
			log.Fatal(err)
		}
		run("text2wave", "-eval", "(voice_"+v.voice+")", "-o", out, text)
		measure(recording{"voice", "diphones " + v.pkg, "spoken", "16 kHz; one speaker's diphones, levels are the synthesizer's", versions(v.pkg, "festival"), "two invented sentences, twice"}, load(out), 2)
	}
}

// longest joins the files of at least so many bytes, in order of their names.
func longest(pattern string, bytes int64) [][]float32 {
	at, _ := filepath.Glob(pattern)
	if len(at) == 0 {
		log.Fatalf("there is no %s", pattern)
	}
	sort.Strings(at)
	var all []float32
	for _, p := range at {
		if info, err := os.Stat(p); err != nil {
			log.Fatal(err)
		} else if info.Size() >= bytes && len(all) < 5*60*audio.Rate {
			all = append(all, load(p)[0]...)
		}
	}
	return [][]float32{all}
}

// limited is what sox's limiter makes of a voice.
func limited(x [][]float32) [][]float32 {
	in, out := temp("in"), temp("limited")
	if err := os.WriteFile(in, wavfile.Bytes(audio.Rate, x), 0o644); err != nil {
		log.Fatal(err)
	}
	run("sox", in, "-b", "32", "-e", "float", out, "gain", "-n", "-1", "gain", "-l", "6")
	return load(out)
}

// Two invented sentences in each language.
const (
	english = "The harbour lies still in the morning, and a few boats are waiting for the tide. Nobody hurries, for the wind will not turn before noon."
	italian = "Il porto e tranquillo la mattina e poche barche aspettano la marea. Nessuno ha fretta, perche il vento non gira prima di mezzogiorno."
	czech   = "Rano je v pristavu klid a nekolik lodi ceka na priliv. Nikdo nespecha, protoze vitr se do poledne neobrati."
	finnish = "Satama on aamulla hiljainen ja muutama vene odottaa nousuvetta. Kenellakaan ei ole kiire, silla tuuli ei kaanny ennen puoltapaivaa."
)
