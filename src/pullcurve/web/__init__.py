"""The local web app: pages for the workshop and the typed interface behind them; no formula lives here."""
