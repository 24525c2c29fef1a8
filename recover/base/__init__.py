"""What every room stands on, and what knows no kiln: what can go wrong, how data enters, how people write numbers and
how we print them, who is cited, when a condition holds, how a component is addressed.

Nothing of another room may be imported here. A new unit goes into `units.toml`, a new published source into
`sources.toml`; a way to read what people type into `measures`.
"""
