"""Pictures: drawings as SVG, maps with their colours. Lab and export both draw with it."""
