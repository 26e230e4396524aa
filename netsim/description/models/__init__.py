"""What an owner may write, table by table: frozen models in SI floats."""
