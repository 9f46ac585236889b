"""The board: Streamlit pages over a pure view model, fed from the bus alone."""
