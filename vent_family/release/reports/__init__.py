"""What a run over a catalogue came to, as files for people and for other programs."""
