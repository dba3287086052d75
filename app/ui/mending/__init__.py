"""Changes that would mend a finding, offered beside it."""
