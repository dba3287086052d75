"""The fonts of drawings, shipped so that text is as wide on every machine."""
