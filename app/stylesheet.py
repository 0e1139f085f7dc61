"""Style sheet of a window, filled in from the colour tokens."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from burstwise.app.theme import Tokens

_SHEET: Final = """
QToolTip {{ background: {panel}; color: {text}; border: 1px solid {line}; padding: 4px; }}
QMenuBar {{ background: {window}; padding: 2px 6px; }}
QMenuBar::item {{ padding: 4px 10px; background: transparent; }}
QMenuBar::item:selected, QMenu::item:selected {{ background: {accent}; color: {on_accent}; }}
QMenu {{ background: {panel}; border: 1px solid {line}; padding: 4px 0; }}
QMenu::item {{ padding: 5px 28px 5px 20px; }}
QMenu::item:disabled {{ color: {muted}; }}
QMenu::separator {{ height: 1px; background: {line}; margin: 4px 0; }}

QLineEdit, QPlainTextEdit, QTextEdit {{
    background: {panel}; border: 1px solid {line}; border-radius: 3px; padding: 4px 6px;
    selection-background-color: {accent}; selection-color: {on_accent};
}}
QLineEdit:focus {{ border: 2px solid {accent}; padding: 3px 5px; }}
QComboBox {{ padding: 2px 4px; min-height: 22px; }}
QComboBox:focus {{ border: 2px solid {accent}; border-radius: 3px; }}
QComboBox QAbstractItemView {{ background: {panel}; border: 1px solid {line}; }}
QLineEdit[bad="true"] {{ border: 2px solid {stop}; padding: 3px 5px; }}
QLabel[role="unit"], QLabel[role="muted"] {{ color: {muted}; background: transparent; }}
QLabel[role="error"] {{ color: {stop}; background: transparent; }}
QLabel[role="caution"] {{ color: {caution}; background: transparent; }}
QLabel[role="notice"] {{
    background: {text}; color: {panel}; border-radius: 3px; padding: 5px 12px;
}}
QLabel[role="title"] {{ font-weight: 600; }}
QLabel[role="heading"] {{ font-size: 15pt; font-weight: 600; }}
QLabel[role="figure"] {{ font-size: 13pt; }}
*[room="large"] QLineEdit, *[room="large"] LinePlot QLabel {{ font-size: 17pt; }}
QLabel[role="small figure"] {{ font-size: 11pt; }}
QLabel[severity="ok"] {{ color: {ok}; }}
QLabel[severity="note"] {{ color: {muted}; }}
QLabel[severity="caution"] {{ color: {caution}; }}
QLabel[severity="stop"] {{ color: {stop}; }}

QCheckBox::indicator, QListView::indicator {{
    width: 14px; height: 14px; border: 1px solid {muted}; border-radius: 2px; background: {panel};
}}
QCheckBox::indicator:checked, QListView::indicator:checked {{
    background: {accent}; border-color: {accent}; image: url("{tick}");
}}
QCheckBox::indicator:focus {{ border: 2px solid {accent}; }}

QRadioButton::indicator {{
    width: 13px; height: 13px; border: 1px solid {muted}; border-radius: 7px; background: {panel};
}}
QRadioButton::indicator:checked {{
    width: 5px; height: 5px; border: 5px solid {accent}; border-radius: 7px; background: {panel};
}}
QRadioButton::indicator:focus {{ border-color: {accent}; }}

QPushButton {{
    background: {panel}; border: 1px solid {line}; border-radius: 3px; padding: 5px 14px;
}}
QPushButton:hover {{ border-color: {accent}; }}
QPushButton:focus {{ border: 2px solid {accent}; padding: 4px 13px; }}
QPushButton:pressed {{ background: {accent}; color: {on_accent}; }}
QPushButton:disabled {{ color: {muted}; }}

QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}

QSlider:horizontal {{ min-height: 24px; }}
QSlider::groove:horizontal {{ height: 4px; background: {line}; border-radius: 2px; }}
QSlider::sub-page:horizontal {{ background: {accent}; border-radius: 2px; }}
QSlider::handle:horizontal {{
    width: 12px; height: 20px; margin: -8px 0; border-radius: 3px;
    background: {panel}; border: 2px solid {accent};
}}
QSlider::handle:horizontal:hover, QSlider::handle:horizontal:focus {{ background: {accent}; }}

QListWidget {{
    background: transparent; border: 1px solid transparent; outline: none;
}}
QListWidget:focus, QTreeView:focus {{ border: 1px solid {accent}; }}
QListWidget[role="screens"]::item {{ padding: 6px 10px; border-left: 4px solid transparent; }}
QListWidget[role="screens"]::item:selected {{
    background: {panel}; color: {text}; border-left: 4px solid {accent}; font-weight: 600;
}}
QListWidget[role="screens"]::item:selected:focus {{
    background: {accent}; color: {on_accent};
}}
QListWidget[role="findings"]::item:selected {{ background: {panel}; color: {text}; }}
QListWidget[role="findings"]::item:selected:focus {{ background: {line}; color: {text}; }}

QFrame[role="panel"], QFrame[role="strip"] {{ background: {panel}; }}
QFrame[role="panel"] {{ border: 1px solid {line}; border-radius: 4px; }}
QFrame[role="panel"]:focus {{ border: 1px solid {accent}; }}
QFrame[role="strip"] {{ border: none; border-bottom: 1px solid {line}; }}
QFrame[role="side"] {{ border: none; border-right: 1px solid {line}; }}
QFrame[role="rule"] {{ background: {line}; border: none; max-width: 1px; }}
QFrame[role="bare"] {{ border: 1px solid transparent; }}
QFrame[role="bare"]:focus {{ border: 1px solid {accent}; }}
QScrollArea {{ border: 1px solid transparent; background: transparent; }}
QScrollArea:focus {{ border: 1px solid {accent}; }}
QGroupBox {{
    background: {panel}; border: 1px solid {line}; border-radius: 4px;
    margin-top: 1.3em; padding: 6px;
}}
QGroupBox[role="inner"] {{ margin-top: 0; }}
QGroupBox::title {{ subcontrol-origin: margin; left: 6px; font-weight: 600; }}
QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
QScrollBar::handle:vertical {{ min-height: 28px; }}
QScrollBar:horizontal {{ background: transparent; height: 12px; margin: 0; }}
QScrollBar::handle:horizontal {{ min-width: 28px; }}
QScrollBar::handle {{ background: {line}; border-radius: 4px; margin: 2px; }}
QScrollBar::handle:hover {{ background: {muted}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QProgressBar {{
    background: {line}; border: none; border-radius: 2px; max-height: 6px; min-height: 6px;
}}
QProgressBar::chunk {{ background: {accent}; border-radius: 2px; }}
QTabBar::tab {{ padding: 6px 14px; border-bottom: 3px solid transparent; }}
QTabBar::tab:selected {{ border-bottom: 3px solid {accent}; font-weight: 600; }}
QTabBar {{ background: transparent; qproperty-drawBase: 0; }}
QTabBar::tab:hover {{ border-bottom: 3px solid {line}; }}
QTabBar::tab:selected:focus {{ background: {accent}; color: {on_accent}; }}
QTabWidget::pane {{ border: none; border-top: 1px solid {line}; }}
QHeaderView::section {{
    background: {window}; border: none; border-bottom: 1px solid {line}; padding: 4px 8px;
}}
QTableView {{ background: {panel}; gridline-color: {line}; border: 1px solid {line}; }}
QTableView:focus {{ border: 1px solid {accent}; }}
QTableCornerButton::section {{
    background: {window}; border: none; border-bottom: 1px solid {line};
}}
"""


def stylesheet(tokens: Tokens) -> str:
    """Style sheet in the colours of `tokens`.

    Widgets say what they are by the dynamic properties `role`, `severity` and `bad`.
    """
    icons = resources.files("burstwise.resources") / "icons"
    return _SHEET.format(
        window=tokens.window,
        panel=tokens.panel,
        line=tokens.line,
        text=tokens.text,
        muted=tokens.muted,
        accent=tokens.accent,
        on_accent=tokens.on_accent,
        ok=tokens.ok,
        caution=tokens.caution,
        stop=tokens.stop,
        tick=Path(str(icons / f"tick-{tokens.name}.svg")).as_posix(),
    )
