"""What a catalogue within all limits may cost: the worst ones, and every route that computes."""
