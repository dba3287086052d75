"""The clearance sheet: drawings, tables and title block on paper."""
