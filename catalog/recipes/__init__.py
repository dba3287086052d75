"""The rules from which the shipped parts and enclosures are generated."""
