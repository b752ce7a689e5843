@echo off
rem Starts the desk from a double click (Windows). The first time it installs the program into .venv in this folder.
cd /d "%~dp0"
if not exist pyproject.toml goto packed
rem what the program needs may have changed with a new version in the same folder
fc /b pyproject.toml .venv\installed.toml >nul 2>nul
if %errorlevel% equ 0 goto desk

set "python=py -3"
%python% -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul
if %errorlevel% neq 0 set "python=python"
%python% -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul
if %errorlevel% neq 0 goto no_python
echo Installing, once. It takes a minute or two, and needs the internet.
%python% -m venv .venv
if %errorlevel% neq 0 goto failed
.venv\Scripts\python -m pip install --quiet --editable .
if %errorlevel% neq 0 goto failed
copy /y pyproject.toml .venv\installed.toml >nul

:desk
echo The desk opens in your browser.
.venv\Scripts\python -m analyzer desk
if %errorlevel% neq 0 goto ended
exit /b 0

:packed
echo This file is still packed: unpack the whole folder first, and start it from there.
goto stop
:no_python
echo Python 3.11 or newer is needed: install it from https://www.python.org and start this again.
goto stop
:failed
echo It could not be installed, for the reason above. Start this again to try once more.
goto stop
:ended
echo The desk ended, for the reason above.
:stop
pause
exit /b 1
