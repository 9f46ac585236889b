"""Streamlit's pages and their forms."""
