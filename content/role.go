package content

import (
	"slices"
	"strings"
	"unicode"
)

// Role is what a stem is in the arrangement, in the words of the trade.
type Role string

// Roles are all of them. Click is what is not meant to be heard: a click, a
// guide track, talkback. Mix is a print of the whole.
const (
	Kick         Role = "kick"
	Snare        Role = "snare"
	Hat          Role = "hat"
	Tom          Role = "tom"
	Cymbal       Role = "cymbal"
	Overhead     Role = "overhead"
	Room         Role = "room"
	Percussion   Role = "percussion"
	DrumMachine  Role = "drum machine"
	Drums        Role = "drums"
	Bass         Role = "bass"
	Guitar       Role = "guitar"
	Keys         Role = "keys"
	Synth        Role = "synth"
	Strings      Role = "strings"
	Brass        Role = "brass"
	Wind         Role = "wind"
	LeadVocal    Role = "lead vocal"
	BackingVocal Role = "backing vocal"
	Speech       Role = "speech"
	Effect       Role = "effect"
	Click        Role = "click"
	Mix          Role = "mix"
)

// Roles are all roles, in the order of a track sheet.
var Roles = []Role{
	Kick, Snare, Hat, Tom, Cymbal, Overhead, Room, Percussion, DrumMachine, Drums, Bass, Guitar, Keys, Synth,
	Strings, Brass, Wind, LeadVocal, BackingVocal, Speech, Effect, Click, Mix,
}

// roleWords are words and abbreviations of tracks, as engineers write them,
// with the role that each stands for. Of several in a name the one with the
// most weight decides; of equal ones the first. Common practice, no source.
var roleWords = []struct {
	role   Role
	weight int
	words  string
}{
	{Click, 9, "click clicktrack metronome talkback tb guide scratch slate timecode ltc count-in countin"},
	{Mix, 8, "roughmix mixdown premix stereomix 2mix 2track twotrack fullmix master reference"},
	{Mix, 2, "mix rough ref"},
	{LeadVocal, 7, "leadvox leadvocal leadvocals ldvox ldv lv ldvoc lvox lvoc leadv mainvox mainvocal"},
	{BackingVocal, 7, "bv bvs bvox bvx bgv bgvs bgvox bkv bvoc backvox backingvox backingvocal backingvocals harmony harm harmonies harmvox choir gang gangvox adlib adlibs ahs oohs oohsahs"},
	{Effect, 7, "fx sfx efx effect effects riser risers sweep impact impacts whoosh reverse foley ambience noise noises vinyl crackle tape rain thunder wash atmos atmo reverb verb delay echo fxreturn return swell"},
	{Speech, 6, "dialogue dialog dialogues reader presenter dx speech narration narrator vo voiceover host guest interview podcast lav lavalier lapel boom spoken"},
	{Hat, 6, "hat hats hh hihat hihats hi-hat hi-hats hats chh ohh"},
	{Overhead, 6, "overhead overheads oh ohs ohl ohr over ovh ovhd ovhds"},
	{Kick, 6, "kick kik kck bd bassdrum kd kickdrum kickin kickout kickinside kickoutside kicksub subkick"},
	{Snare, 6, "snare snr sn sd snaredrum sntop snbot snaretop snarebottom snarebot sidestick rim rimshot clap claps"},
	{Tom, 6, "tom toms floortom racktom ft rt tom1 tom2 tom3 floor rack hitom lowtom"},
	{Cymbal, 6, "cymbal cymbals cym cyms ride crash china splash spotride"},
	{DrumMachine, 6, "808 909 drummachine beat beats loop drumloop drumloops breakbeat mpc lm1 linn programmed"},
	{Room, 5, "room rooms rm roommic roommics drumroom crush decca blumlein"},
	{Percussion, 5, "perc percussion shaker shakers tambourine tamb tambo conga congas bongo bongos cowbell cajon djembe tabla triangle maracas guiro cabasa timbales timbale woodblock castanets clave claves timpani timp vibraslap block snaps fingersnaps stomp stomps bell bells"},
	{Drums, 4, "drum drums kit drumkit drumbus trap"},
	{Bass, 5, "bass bs bassdi bassamp bassguitar bgtr bassgtr ebass upright doublebass subbass contrabass bsdi synthbass bassynth basssynth moogbass"},
	{Bass, 2, "sub"},
	{Guitar, 4, "guitar guitars gtr gtrs git gt gtrl gtrr eg egtr ag agtr acgtr elgtr acousticguitar electricguitar acoustic acous acou aco strat tele telecaster lespaul banjo mandolin mando ukulele uke sitar zither lute bouzouki pedalsteel lapsteel dobro nylon strum strums powerchords riff riffs slide"},
	{Keys, 4, "keys key keyboard keyboards piano pno pian grandpiano grand uprightpiano rhodes wurli wurlitzer wurly epiano ep organ org hammond b3 leslie clav clavinet harpsichord celeste mellotron accordion harmonium vibraphone vibes marimba xylophone glockenspiel glock melodica"},
	{Synth, 4, "synth synths syn synthesizer synthesiser pad pads arp arps arpeggio sequence seq pluck plucks lead-synth synthlead moog juno prophet saw supersaw chords stab stabs drone vocoder"},
	{Strings, 4, "strings string violin violins vln vlns viola violas vla cello celli cellos vcl vc vlc fiddle harp quartet orch orchestra str contrabasses"},
	{Brass, 4, "brass trumpet trumpets tpt trp trombone trombones tbn trb horn horns frenchhorn tuba flugel flugelhorn cornet euphonium hrn hns"},
	{Wind, 4, "sax saxophone saxes altosax tenorsax barisax flute flutes flt clarinet oboe bassoon recorder harmonica woodwind woodwinds winds wind whistle piccolo bagpipe bagpipes duduk"},
	{LeadVocal, 3, "vocal vocals vox voc vocs voice voices singer sing vx vcl verse-vox rap rapper"},
	{Room, 2, "far hall ambient amb"},
}

// wordRoles are the roles by word.
var wordRoles = func() map[string]weighedRole {
	all := map[string]weighedRole{}
	for _, row := range roleWords {
		for word := range strings.FieldsSeq(row.words) {
			word = strings.ReplaceAll(word, "-", "")
			if _, taken := all[word]; !taken {
				all[word] = weighedRole{row.role, row.weight}
			}
		}
	}
	return all
}()

type weighedRole struct {
	role   Role
	weight int
}

// RoleOfName is the role that the name of a stem says, "" where it says
// nothing. Words are told apart by spaces, signs, digits and a capital after a
// small letter; two words in a row count as one too: Hi Hat, LeadVox, BD_In.
func RoleOfName(name string) Role {
	words := nameWords(name)
	best := weighedRole{}
	for i, word := range words {
		best = best.orElse(wordRoles[word])
		best = best.orElse(wordRoles[strings.TrimSuffix(word, "s")])
		if i+1 < len(words) {
			best = best.orElse(wordRoles[word+words[i+1]])
		}
	}
	return best.refined(words)
}

func (w weighedRole) orElse(other weighedRole) weighedRole {
	if other.weight > w.weight {
		return other
	}
	return w
}

// refined looks at words that mean something only beside others.
func (w weighedRole) refined(words []string) Role {
	has := func(any ...string) bool {
		return slices.ContainsFunc(any, func(word string) bool { return slices.Contains(words, word) })
	}
	backing := has("backing", "background", "back", "bg", "harm", "harmony", "choir", "double", "dbl", "stack", "gang")
	switch {
	case w.role == LeadVocal && w.weight == 3 && backing:
		return BackingVocal
	case w.role == Keys && has("bass") || w.role == Synth && has("bass"):
		return Bass
	}
	return w.role
}

// nameWords are the words of a name in small letters.
func nameWords(name string) (words []string) {
	var word []rune
	end := func() {
		if len(word) > 0 {
			words = append(words, strings.ToLower(string(word)))
		}
		word = word[:0]
	}
	var before rune
	for _, r := range name {
		switch {
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			end()
		case unicode.IsUpper(r) && unicode.IsLower(before), unicode.IsDigit(r) != unicode.IsDigit(before) && len(word) > 0:
			end()
			word = append(word, r)
		default:
			word = append(word, r)
		}
		before = r
	}
	end()
	return words
}
