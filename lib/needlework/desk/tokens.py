"""The colours of the desk's pages, light and dark, as CSS; on paper always the light ones."""

TOKENS = """
:root { color-scheme: light dark; --ink: #1a1a1a; --paper: #fff; --line: #999; --soft: #595959; --bar: #0072b2;
  --wrong: #b34700; --teach: #00664b; --box: #f4f6f8; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #e6e6e6; --paper: #16181b; --line: #666; --soft: #aaa; --bar: #56b4e9; --wrong: #ff9a5c;
    --teach: #4fd1a5; --box: #22262b; }
}
@media print {
  :root { color-scheme: light; --ink: #000; --soft: #444; --box: #fff; }
}
"""
