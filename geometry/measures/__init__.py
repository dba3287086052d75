"""The core: poses, prisms and solids, and what is measured between them, exactly."""
