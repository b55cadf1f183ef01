package demo

import (
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// parser reads a score; part and room are those that the next line is below.
type parser struct {
	*score
	part string
	room *roomScore
}

// parseScore reads a score. An error names its line.
func parseScore(r io.Reader) (*score, error) {
	p := &parser{score: &score{key: Key{}, parts: map[string]map[string][]bar{}}}
	if err := p.lines(r); err != nil {
		return nil, err
	}
	return p.score, p.score.check()
}

func (p *parser) lines(r io.Reader) error {
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		words := strings.Fields(lines.Text())
		if len(words) == 0 || words[0] == "#" {
			continue
		}
		if err := p.statement(words); err != nil {
			return fmt.Errorf("line %d: %w", n, err)
		}
	}
	return lines.Err()
}

func (p *parser) statement(words []string) error {
	rest := words[1:]
	if len(rest) == 0 {
		return fmt.Errorf("%s says nothing", words[0])
	}
	switch words[0] {
	case "title":
		p.title = strings.Join(rest, " ")
	case "doc":
		p.doc = strings.Join(rest, " ")
	case "style":
		p.style = strings.Join(rest, " ")
	case "seed":
		seed, err := strconv.ParseUint(rest[0], 10, 64)
		p.seed = seed
		return err
	case "form":
		p.form = rest
	case "part":
		p.part = rest[0]
		p.parts[p.part] = map[string][]bar{}
	case "key":
		return p.addKey(rest)
	case "use":
		return p.addSet(rest[0])
	case "tempo", "shift", "beats", "swing":
		return p.addFigures(words[0], rest)
	case "room":
		return p.addRoom(rest)
	case "source", "amp":
		return p.addSource(words[0], rest)
	case "sound":
		return p.addSound(rest)
	case "mic", "line":
		return p.addStem(words[0], rest)
	default:
		return p.addBars(words[0], rest)
	}
	return nil
}

func (p *parser) addKey(words []string) error {
	tonic, err := parseNote(words[0] + "4")
	if err != nil || len(words) != 2 || words[1] != "major" && words[1] != "minor" {
		return fmt.Errorf("a key is like: f# minor, eb major")
	}
	p.key = Key{Tonic: (int(tonic) + 12) % 12, Minor: words[1] == "minor"}
	return nil
}

// addSet reads the lines of a set; sets use no sets.
func (p *parser) addSet(name string) error {
	text, err := files.ReadFile(setPath(name))
	if err != nil || bytes.HasPrefix(text, []byte("use ")) || bytes.Contains(text, []byte("\nuse ")) {
		return fmt.Errorf("there is no set %q that uses no other", name)
	}
	p.sets = append(p.sets, name)
	if err := p.lines(bytes.NewReader(text)); err != nil {
		return fmt.Errorf("set %s, %w", name, err)
	}
	return nil
}

func setPath(name string) string { return "scores/sets/" + name + ".txt" }

func (p *parser) addFigures(name string, words []string) error {
	f, err := parseFigures(words)
	if err != nil {
		return err
	}
	switch {
	case name == "tempo" && len(f) == 1:
		p.tempo = [3]float64{f[0], f[0], f[0]}
	case name == "tempo" && len(f) == 3:
		p.tempo = [3]float64(f)
	case name == "shift" && len(f) == 2 && f[0] >= -12 && f[1] <= 12 && f[0] <= 0 && f[1] >= 0:
		p.shift = [2]int{int(f[0]), int(f[1])}
	case name == "beats" && len(f) == 1:
		p.beats = int(f[0])
	case name == "swing" && len(f) == 1 && f[0] >= 0 && f[0] <= 60:
		p.swing = f[0]
	default:
		return fmt.Errorf("%s %s is not understood", name, strings.Join(words, " "))
	}
	return nil
}

func (p *parser) addRoom(words []string) error {
	f, err := parseFigures(words)
	if err != nil || len(f) != 4 || slices.Min(f) < 0.05 || slices.Max(f) > 50 {
		return fmt.Errorf("a room needs width, depth and height in metres and its decay time in s")
	}
	p.room = &roomScore{size: place{f[0], f[1], f[2]}, decayS: f[3]}
	p.rooms = append(p.rooms, p.room)
	return nil
}

var sourceKinds = []string{"hits", "notes", "string", "synth", "voice"}

func (p *parser) addSource(statement string, words []string) error {
	src := &sourceScore{name: words[0], kind: "amp", looseMS: timingMS, offCents: inTuneCents, at: nowhere}
	src.str, src.synth, src.voice, src.amp = plainString, plainSynth, plainVoice, plainAmp
	words = words[1:]
	if p.source(src.name) != nil {
		return fmt.Errorf("there are two sources %s", src.name)
	}
	if statement == "source" {
		if len(words) == 0 || !slices.Contains(sourceKinds, words[0]) {
			return fmt.Errorf("a source plays one of %s", strings.Join(sourceKinds, ", "))
		}
		src.kind, words = words[0], words[1:]
	}
	f := fields{
		flags:   map[string]*bool{"choke": &src.choke, "pedal": &src.pedal, "tuned": &src.tuned, "same": &src.same},
		figures: map[string]*float64{"level": &src.levelDB, "loose": &src.looseMS, "side": &src.side, "off": &src.offCents},
		words:   map[string]*string{"plays": &src.plays},
		places:  map[string]*place{"at": &src.at},
	}
	switch src.kind {
	case "string":
		src.str.fields(f)
	case "synth":
		src.synth.fields(f)
	case "voice":
		src.voice.fields(f)
	case "amp":
		src.amp.fields(f)
	}
	if err := f.read(words); err != nil {
		return err
	}
	if src.kind == "amp" {
		fed := p.source(src.amp.of)
		if fed == nil || fed.kind == "amp" {
			return fmt.Errorf("amp %s is fed by no source above it", src.name)
		}
		src.plays = ""
	}
	if src.plays != "" && p.source(src.plays) == nil {
		return fmt.Errorf("%s plays %s, which is not above it", src.name, src.plays)
	}
	p.sources = append(p.sources, src)
	if src.at == nowhere {
		return nil
	}
	if p.room == nil {
		return fmt.Errorf("%s has a place, but there is no room above it", src.name)
	}
	src.room, p.room.sources = p.room, append(p.room.sources, src)
	return nil
}

func (p *parser) addSound(words []string) error {
	if len(p.sources) == 0 || len(words) < 2 {
		return fmt.Errorf("a sound needs a source before it, a name and a sample")
	}
	src := p.sources[len(p.sources)-1]
	cents, chord := 0.0, ""
	f := fields{figures: map[string]*float64{"cents": &cents}, words: map[string]*string{"chord": &chord}}
	samples, err := f.readLeading(words[1:])
	if err != nil || len(samples) == 0 {
		return cmp.Or(err, fmt.Errorf("sound %s has no sample", words[0]))
	}
	snd := sound{name: words[0], note: cents / 100, samples: samples}
	if src.kind == "notes" {
		note, err := parseNote(words[0])
		if err != nil {
			return err
		}
		snd.note += note
	}
	if snd.chord, err = parseChord(chord); err != nil {
		return err
	}
	for _, path := range snd.samples {
		if _, err := files.Open("bank/" + path); err != nil {
			return fmt.Errorf("there is no sample %s in the bank", path)
		}
	}
	src.sounds = append(src.sounds, snd)
	return nil
}

func (p *parser) addStem(statement string, words []string) error {
	st := &stemScore{
		name: strings.ReplaceAll(words[0], "_", " "), mic: statement == "mic", pattern: "cardioid",
		peakDB: -10, floorDB: -76, humDB: math.Inf(-1), mixLUFS: -26, aim: nowhere, at: nowhere,
	}
	of := ""
	f := fields{
		flags: map[string]*bool{"inverted": &st.inverted},
		figures: map[string]*float64{"peak": &st.peakDB, "floor": &st.floorDB, "hum": &st.humDB,
			"mix": &st.mixLUFS, "pan": &st.pan, "side": &st.side},
		words:  map[string]*string{"of": &of, "role": &st.role, "pair": &st.pair, "pattern": &st.pattern},
		places: map[string]*place{"at": &st.at, "aim": &st.aim},
	}
	if err := f.read(words[1:]); err != nil {
		return err
	}
	st.of, st.role = p.source(of), strings.ReplaceAll(st.role, "_", " ")
	if err := st.check(); err != nil {
		return fmt.Errorf("%s: %w", st.name, err)
	}
	if st.mic {
		if st.aim == nowhere {
			st.aim = st.of.at
		}
		st.of.room.mics = append(st.of.room.mics, st)
	}
	p.stems = append(p.stems, st)
	return nil
}

func (st *stemScore) check() error {
	_, known := patterns[st.pattern]
	switch {
	case st.of == nil:
		return fmt.Errorf("say after of which source above it is meant for")
	case !slices.Contains(Roles, Role(st.role)):
		return fmt.Errorf("%q is not a role", st.role)
	case !known:
		return fmt.Errorf("%q is not a pattern", st.pattern)
	case st.mic && (st.of.room == nil || st.at == nowhere):
		return fmt.Errorf("a microphone needs a source in a room, and a place there")
	case st.mic && len(st.of.room.mics) == maxMics:
		return fmt.Errorf("a room has at most %d microphones", maxMics)
	case st.peakDB > -1 || st.floorDB > -40 || st.humDB > -40 || math.Abs(st.pan) > 1:
		return fmt.Errorf("peak is at most -1, floor and hum at most -40, pan from -1 to 1")
	}
	return nil
}

func (p *parser) addBars(name string, words []string) error {
	src := p.source(name)
	if src == nil || p.part == "" {
		return fmt.Errorf("%q is neither a statement nor, below a part, a source", name)
	}
	for text := range strings.SplitSeq(strings.Join(words, " "), "|") {
		b := bar(strings.Fields(text))
		if len(b) == 0 {
			return fmt.Errorf("%s: a bar is empty: write a rest as a dot", name)
		}
		for _, tok := range b {
			if err := src.check(tok); err != nil {
				return err
			}
			if src.kind == "voice" && tok != "." && tok != "-" {
				p.syllables = append(p.syllables, voicePath(parseToken(tok).word))
			}
		}
		p.parts[p.part][name] = append(p.parts[p.part][name], b)
	}
	return nil
}

func (s *score) check() error {
	t := s.tempo
	switch {
	case !(t[1] >= 20 && t[1] <= t[0] && t[0] <= t[2] && t[2] <= 400) || s.beats < 1 || s.beats > 32:
		return fmt.Errorf("a score needs a tempo of 20 to 400 and 1 to 32 beats in a bar")
	case s.title == "" || len(s.form) == 0 || len(s.stems) == 0:
		return fmt.Errorf("a score needs a title, a stem and a form")
	}
	bars := 0
	for _, choice := range s.form {
		for part := range strings.SplitSeq(choice, "/") {
			if s.parts[part] == nil {
				return fmt.Errorf("the form names part %s, which is not there", part)
			}
			bars += s.bars(part)
		}
	}
	if bars < 1 || float64(bars*s.beats)*60/t[1] > maxS {
		return fmt.Errorf("a song is no longer than %d s, all parts of its form together", maxS)
	}
	return s.checkNames()
}

// maxS bounds what a score can ask for.
const maxS = 600

func (s *score) checkNames() error {
	seen := map[string]bool{}
	for _, st := range s.stems {
		if seen[st.name] {
			return fmt.Errorf("there are two stems %s", st.name)
		}
		seen[st.name] = true
	}
	used := map[string]bool{}
	for _, src := range s.sources {
		used[cmp.Or(src.amp.of, src.plays)] = true
	}
	for _, st := range s.stems {
		used[st.of.name] = true
	}
	for _, src := range s.sources {
		if !used[src.name] && src.room == nil {
			return fmt.Errorf("nobody hears source %s", src.name)
		}
	}
	return nil
}
