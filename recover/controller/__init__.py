"""What one controller can run: its capabilities, its programmes, their proof and refusal; it knows no job."""
