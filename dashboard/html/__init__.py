"""The live pages' HTML, styles and scripts, written from the views."""
