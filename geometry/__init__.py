"""What is computed: prisms, three exact measures, layouts, and the checks upon them."""
