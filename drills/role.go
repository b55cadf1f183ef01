package drills

// Role is what a stem is in an arrangement, in the words of the trade.
type Role string

// The roles that drills ask for. A material may name others.
const (
	Kick         Role = "kick"
	Snare        Role = "snare"
	Hat          Role = "hat"
	Tom          Role = "tom"
	Cymbal       Role = "cymbal"
	Overhead     Role = "overhead"
	RoomMic      Role = "room"
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
)
