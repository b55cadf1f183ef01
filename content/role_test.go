package content_test

import (
	"slices"
	"testing"

	"strop/content"
	"strop/content/demo"
)

// Names as sessions have them; common practice, no source.
func TestRoleOfName(t *testing.T) {
	for role, names := range map[content.Role][]string{
		content.Kick:         {"Kick", "KICK IN", "01_Kik Out", "BD", "kick-sub", "BassDrum", "05 Bass Drum", "SubKick", "Kd 1"},
		content.Snare:        {"Snare Top", "SN Btm", "SD_57", "snr2", "SnareBot", "Clap", "07-Snare.dup1"},
		content.Hat:          {"HH", "Hi Hat", "Hi-Hat", "hihat_01", "Hats", "12 HiHat"},
		content.Tom:          {"Tom 1", "Floor Tom", "Rack Tom", "FT", "Toms"},
		content.Cymbal:       {"Ride", "Crash L", "Cymbals", "China"},
		content.Overhead:     {"OH L", "Overhead R", "OH", "ohl", "Overheads", "Drum OH R"},
		content.Room:         {"Room", "Rm L", "Drum Room", "Room Mics"},
		content.Percussion:   {"Shaker", "Tamb", "Conga Hi", "Perc 2", "Cowbell"},
		content.DrumMachine:  {"808", "Drum Loop", "TR 909", "Beat"},
		content.Drums:        {"Drums", "Drum Kit", "Drum Bus"},
		content.Bass:         {"Bass DI", "Bass Amp", "BASS", "Synth Bass", "Sub Bass", "Bs", "E Bass"},
		content.Guitar:       {"Gtr L", "E Gtr 2", "AcGtr", "Elec Guitar", "Strat", "Acoustic", "GTR_Lead", "Banjo", "EGTR DI"},
		content.Keys:         {"Piano L", "Rhodes", "Wurli", "B3 Hi", "Organ", "E Piano", "Keys", "Vibes"},
		content.Synth:        {"Synth Lead", "Pad", "Arp 2", "SynPad", "Pluck"},
		content.Strings:      {"Strings", "Violin 1", "Celli", "Vln II"},
		content.Brass:        {"Trumpet", "Horns", "Tbn"},
		content.Wind:         {"Sax", "Flute", "Tenor Sax"},
		content.LeadVocal:    {"Lead Vox", "LV", "Vocal", "VOX", "LeadVocal_comp", "Main Vox", "Ld Voc", "Rap"},
		content.BackingVocal: {"BV 1", "BGV L", "Backing Vox", "Vox Harmony", "Choir", "Harm 2", "Vocal Double", "Adlib Vox"},
		content.Speech:       {"Dialogue", "VO", "Lav 1", "Narration", "Boom"},
		content.Effect:       {"FX", "Riser", "SFX 3", "Vox Reverb", "Impact"},
		content.Click:        {"Click", "Guide Vox", "Talkback", "TB"},
		content.Mix:          {"Rough Mix", "2Mix", "Mixdown"},
		"":                   {"Audio 01", "Track 7", "Bounce", "音声", "نص", "🎧", "", "X", "new", "lead"},
	} {
		for _, name := range names {
			if got := content.RoleOfName(name); got != role {
				t.Errorf("%q is taken for %q, not %q", name, got, role)
			}
		}
	}
}

// The names of the demo songs, which were given before anything guessed from
// them, say what their scores say. A few say nothing, or something near it.
func TestRoleOfDemoNames(t *testing.T) {
	songs, err := demo.Songs()
	if err != nil {
		t.Fatal(err)
	}
	right, all := 0, 0
	for _, song := range songs {
		for _, label := range song.Labels() {
			all++
			got := content.RoleOfName(label.Name)
			if string(got) == string(label.Role) {
				right++
				continue
			}
			t.Logf("%s: %q is %s, taken for %q", song.Name, label.Name, label.Role, got)
			if content.Role(label.Role) != content.Effect && !slices.Contains(content.Roles, content.Role(label.Role)) {
				t.Errorf("%s is no role of this package", label.Role)
			}
		}
	}
	if right < all*85/100 {
		t.Errorf("of %d names %d are taken for what they are", all, right)
	}
}
