"""What every picture and page shares: elements, tones, templates, a plan seen by its reader."""
