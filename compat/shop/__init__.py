"""The shop's own knowledge: its engines, parts, work and joints, read from files a person writes."""
